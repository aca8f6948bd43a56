//! A site's plan: levels, zones, rooms, walls, openings, stairs, stops and equipment, in integer millimetres.
//!
//! Pure: bytes in, values and findings out. It knows nothing of guards, rounds or the record.
//! The file format is `docs/spec/plan-file.md`; where the two differ the page is right and the code is wrong.
//!
//! Read in this order: [`plan`] (the whole), [`place`] (zones and stops), [`fabric`] (what stands),
//! [`equipment`], [`file`](mod@file) (bytes), [`check`] (what is wrong with it).

pub mod check;
pub mod equipment;
pub mod export;
pub mod fabric;
pub mod file;
pub mod floor;
pub mod id;
pub mod import;
pub mod limits;
pub mod network;
pub mod place;
pub mod plan;
pub mod shape;
mod simple;
pub mod survey;
pub mod times;
pub mod trail;
mod walked;

pub use check::{Fault, Finding};
pub use equipment::{Equipment, EquipmentKind, Mark, MarkKind};
pub use fabric::{Leaf, Link, LinkKind, Opening, Room, RoomKind, Wall};
pub use file::{PlanDigest, ReadError};
pub use floor::{Floor, Floors};
pub use id::{
    EquipmentId, IdFault, LevelId, LinkId, MarkId, OpeningId, RoomId, StopId, WallId, ZoneId,
};
pub use limits::{Circumstances, Limits};
pub use network::{Network, Passage, Spot};
pub use place::{Level, Stop, Zone, ZoneKind};
pub use plan::{Anchor, Plan, VERSION};
pub use shape::{Point, Shape};
pub use survey::{Survey, survey};
pub use times::Times;
pub use trail::{Step, Trail};
pub use walked::{Pieces, walked};
