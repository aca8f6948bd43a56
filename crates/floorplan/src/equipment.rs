//! Fire equipment, hazards, and the marks people look for: call spots, assembly points.

use crate::id::{EquipmentId, LevelId, MarkId};
use crate::shape::Point;
use serde::{Deserialize, Serialize};

/// What a piece of equipment or a hazard is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EquipmentKind {
    /// A portable extinguisher; its rating stands in `rating`.
    Extinguisher,
    /// A hydrant.
    Hydrant,
    /// A standpipe or hose valve.
    Standpipe,
    /// The fire service inlet.
    FireServiceInlet,
    /// The alarm panel.
    AlarmPanel,
    /// A sprinkler or shut-off valve.
    Valve,
    /// A manual call point.
    CallPoint,
    /// A temporary or fixed heater.
    Heater,
    /// A place of hot work.
    HotWork,
    /// Combustible stock, waste or structure near which sparks matter.
    Combustible,
    /// A flammable liquid or gas.
    Flammable,
    /// Another hazard, named.
    Hazard,
}

/// A piece of equipment or a hazard at its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// Its id.
    pub id: EquipmentId,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What it is.
    pub kind: EquipmentKind,
    /// The level it is on.
    pub level: LevelId,
    /// Where it is.
    pub at: Point,
    /// The rating on its label, for example `2-A:10-B:C`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub rating: String,
}

/// What a mark shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MarkKind {
    /// A place with a telephone or known signal, to call from.
    CallSpot,
    /// Where people gather outside.
    AssemblyPoint,
    /// Where the fire service is met.
    MeetingPoint,
}

/// A place people must find.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Its id.
    pub id: MarkId,
    /// What people call it.
    pub name: String,
    /// What it shows.
    pub kind: MarkKind,
    /// The level it is on.
    pub level: LevelId,
    /// Where it is.
    pub at: Point,
}
