//! What stands: rooms, walls, openings, and the stairs, ramps and lifts between levels.

use crate::id::{LevelId, LinkId, OpeningId, RoomId, WallId, ZoneId};
use crate::shape::{Point, Shape};
use serde::{Deserialize, Serialize};

/// What a room is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Default,
)]
#[serde(rename_all = "kebab-case")]
pub enum RoomKind {
    /// A room with a use of its own.
    #[default]
    Room,
    /// A corridor or lobby.
    Corridor,
    /// An open area inside the building, not closed by walls of its own.
    Area,
    /// The depth of a wall at a door: open to both sides, its door lies across it.
    Doorway,
    /// The foot of a stair.
    Stair,
    /// A lift car's shaft: not walked, not inspected.
    Lift,
    /// A shaft or void: not walked, not inspected.
    Shaft,
}

impl RoomKind {
    /// Whether a person can stand in it.
    pub fn walkable(self) -> bool {
        !matches!(self, RoomKind::Lift | RoomKind::Shaft)
    }
}

/// A piece of floor. Its border stops steps and sight, save at openings and towards an area.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Room {
    /// Its id.
    pub id: RoomId,
    /// What people call it.
    pub name: String,
    /// The level it lies on.
    pub level: LevelId,
    /// What it is.
    #[serde(default)]
    pub kind: RoomKind,
    /// The zone it belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// Its area.
    pub shape: Shape,
}

/// A wall or barrier that is not already the border of a room.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wall {
    /// Its id.
    pub id: WallId,
    /// The level it stands on.
    pub level: LevelId,
    /// Its course.
    pub line: Vec<Point>,
}

/// What closes an opening.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Default,
)]
#[serde(rename_all = "kebab-case")]
pub enum Leaf {
    /// Nothing: steps and sight go through.
    Gap,
    /// A door that anybody can open: steps go through, sight does not until it is opened.
    #[default]
    Door,
    /// A door that needs a key.
    Locked,
    /// A door that opens from the first side of its line only.
    OneWay,
    /// A window or glass wall: sight goes through, steps do not.
    Window,
}

/// A door, gap or window in a border, as the segment that is free.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Its id.
    pub id: OpeningId,
    /// What people call it, if anything.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The level it is on.
    pub level: LevelId,
    /// What closes it.
    #[serde(default)]
    pub leaf: Leaf,
    /// Its two jambs; a one-way door is passed from the left of this line to the right.
    pub line: [Point; 2],
    /// It leads out of the building.
    #[serde(default, skip_serializing_if = "is_false")]
    pub exit: bool,
}

/// What joins levels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LinkKind {
    /// A stair.
    Stair,
    /// A ramp.
    Ramp,
    /// A lift: never used in a fire; on rounds only when `rounds` allows it.
    Lift,
}

/// Where a link meets a level.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Foot {
    /// The level.
    pub level: LevelId,
    /// Where one steps on or off.
    pub at: Point,
}

/// A stair, ramp or lift with the places where it meets levels, lowest first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// Its id.
    pub id: LinkId,
    /// What people call it.
    pub name: String,
    /// What it is.
    pub kind: LinkKind,
    /// Where it meets levels.
    pub feet: Vec<Foot>,
    /// A lift that may be used on rounds.
    #[serde(default, skip_serializing_if = "is_false")]
    pub rounds: bool,
    /// A stair kept free of smoke by its construction.
    #[serde(default, skip_serializing_if = "is_false")]
    pub smoke_free: bool,
}

pub(crate) fn is_false(value: &bool) -> bool {
    !value
}
