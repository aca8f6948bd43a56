//! Visibility, walking distance and coverage in polygons with holes.
//!
//! Pure and deterministic: coordinates in, values out, in whatever length unit the caller uses; the same bytes natively
//! and in wasm. It knows nothing of sites, people or pixels.
//!
//! Read in this order: [`clean`] (segments that no longer cross), [`arrangement`] (triangles and what each lies in),
//! [`mesh`] (the floor: what stops sight, what stops steps), [`locate`], [`sweep`] (triangular expansion),
//! [`region`] (what is seen), [`cover`] (what is not yet seen), [`ways`] (walking distance).

pub mod arrangement;
pub mod clean;
pub mod cover;
pub mod graph;
pub mod locate;
pub mod mesh;
pub mod point;
pub mod region;
pub mod sweep;
pub mod ways;

pub use arrangement::{Arrangement, Fault, Line, Shape};
pub use clean::{Changes, Grid};
pub use cover::{Cover, Unseen};
pub use graph::{Graph, Tree};
pub use locate::Location;
pub use mesh::{Border, Mesh};
pub use point::{Point, Turn, turn};
pub use region::Region;
pub use ways::{Placed, Straight, Trail, Ways};
