//! The parts every plan has: zones and stops, and the levels they lie on.

use crate::id::{LevelId, StopId, ZoneId};
use crate::shape::{Point, Shape};
use serde::{Deserialize, Serialize};

/// A storey. One that holds only the landing of a stair belongs to the stair and is no level.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// Its id.
    pub id: LevelId,
    /// What people call it.
    pub name: String,
    /// Height of its floor over the plan's zero, in millimetres.
    pub elevation_mm: i64,
}

/// What a zone is used for; demands differ by it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Default,
)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneKind {
    /// Nothing special is known.
    #[default]
    General,
    /// People sleep here.
    Sleeping,
    /// Many people gather here.
    Assembly,
    /// Stair, corridor or lobby that people leave by.
    Escape,
    /// Storage of goods or waste.
    Storage,
    /// Boilers, electrical rooms, lift machinery.
    Plant,
    /// Being built, altered or taken down.
    Construction,
    /// Hot work goes on or went on here.
    HotWork,
    /// Nobody should be here.
    Vacant,
    /// Yard, roof or façade.
    Outside,
}

/// An area whose unseen gap is measured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Zone {
    /// Its id.
    pub id: ZoneId,
    /// What people call it.
    pub name: String,
    /// The level it lies on, when the plan has levels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<LevelId>,
    /// What it is used for.
    #[serde(default)]
    pub kind: ZoneKind,
    /// The longest time it may stay unseen, in seconds.
    pub gap_s: u32,
    /// Its outline, when drawn; rooms that name this zone belong to it as well.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shape: Option<Shape>,
    /// How far a guard can judge what is seen here, in millimetres; the planner's default when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sight_mm: Option<i64>,
}

/// A place where the guard must stand and confirm presence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stop {
    /// Its id; what a tag at the wall carries.
    pub id: StopId,
    /// What people call it.
    pub name: String,
    /// The zone it shows as seen.
    pub zone: ZoneId,
    /// The level it stands on, when the plan has levels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<LevelId>,
    /// Where it stands, when drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Point>,
    /// Time to look around and write here, in seconds; the plan's time model when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inspect_s: Option<u32>,
}
