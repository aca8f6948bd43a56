//! How few guards can really keep a watch, who walks what when, and the proof that fewer cannot.
//!
//! Pure: no clock, no randomness of its own, no IO. Every search takes an [`Effort`]: a seed, a
//! budget of steps, and a watcher that may stop it. Equal seeds and equal steps give equal bytes,
//! native and in wasm; a watcher that looks at a clock gives that promise up, and only that one.
//!
//! All times are whole milliseconds ([`Walks`] holds the walking times), so that a plan can be
//! checked without rounding.
//!
//! Read in this order: [`walks`], [`effort`], [`tour`] (one closed round), [`share`]
//! (one round for each guard), [`gaps`] (the fewest guards, and why),
//! [`timetable`] (who looks where when), [`check`] (whether that is true), [`answer`] (the dispatcher's question),
//! [`ground`] (a drawn plan as a question), [`learned`] (what recorded legs make of its times),
//! [`alternatives`] (other orders of a round), [`replan`] (the night goes on).

pub mod alternatives;
pub mod answer;
pub mod check;
pub mod effort;
pub mod gaps;
pub mod ground;
pub mod learned;
mod random;
pub mod replan;
pub mod seeing;
pub mod share;
pub mod timetable;
pub mod tour;
pub mod walks;

pub use answer::{Answer, Conflict, Kept, Question, Way, answer};
pub use effort::{Effort, Go, Progress};
pub use gaps::{Demands, Fewest, GuardBound, Plan, Reason, Team, fewest, guards_at_least};
pub use ground::{Ground, Kind, Stations, Wish};
pub use seeing::{Scene, Walk, fewest_viewpoints, walk_that_sees};
pub use share::{ShareBound, Shared, Sharing, share, share_bound};
pub use tour::{Tour, tour, tour_bound};
pub use walks::{NEVER, Walks};
