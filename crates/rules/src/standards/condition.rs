//! What a value depends on, judged in three ways: it holds, it does not, or a fact is missing.

use crate::codes::{Stage, System};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

/// The facts that a value depends on; all that are stated must hold. Lengths and areas are in the unit of their name.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct When {
    /// The system that is out is one of these.
    pub systems: Vec<System>,
    /// The occupancy group is one of these; a bare letter stands for all its groups.
    pub occupancy: Vec<String>,
    /// People sleep there.
    pub sleeping: Option<bool>,
    /// People are in the building.
    pub occupied: Option<bool>,
    /// The works are at one of these stages.
    pub stage: Vec<Stage>,
    /// There is a building site at all.
    pub construction: Option<bool>,
    /// The works bring a hazard of their own, such as temporary heating or hot work.
    pub hazardous: Option<bool>,
    /// Higher than this above the lowest ground beside it.
    pub higher_than_ft: Option<i64>,
    /// Of more than one storey.
    pub multistorey: Option<bool>,
    /// More than this on a storey.
    pub storey_area_over_ft2: Option<i64>,
    /// More people than this.
    pub crowd_over: Option<i64>,
    /// At most this many people.
    pub crowd_at_most: Option<i64>,
    /// Out of doors.
    pub outdoor: Option<bool>,
    /// A place of worship.
    pub worship: Option<bool>,
    /// Something that burns is closer than this to the hot work.
    pub closer_than_ft: Option<i64>,
    /// Something farther that sparks light easily.
    pub easily_ignited: Option<bool>,
    /// An opening is within this of the hot work.
    pub opening_within_ft: Option<i64>,
    /// Heat can pass through a metal wall to something that burns.
    pub metal_partition: Option<bool>,
    /// The place was surveyed after the work and no hazard was found.
    pub surveyed: Option<bool>,
    /// Sprinklers are out where the hot work is.
    pub impaired: Option<bool>,
    /// Any system is out while the hot work goes on.
    pub during_outage: Option<bool>,
    /// A system is out of service.
    pub outage: Option<bool>,
    /// Hot work is stated.
    pub hot_work: Option<bool>,
    /// One person can see every exposure of the hot work.
    pub one_sees_all: Option<bool>,
    /// Torch-applied roofing.
    pub torch_roofing: Option<bool>,
    /// Sprinklers protect the building.
    pub sprinklered: Option<bool>,
}

impl When {
    /// It depends on a piece of hot work, not on the site alone.
    pub fn speaks_of_hot_work(&self) -> bool {
        self.closer_than_ft.is_some()
            || self.opening_within_ft.is_some()
            || self.easily_ignited.is_some()
            || self.metal_partition.is_some()
            || self.surveyed.is_some()
            || self.torch_roofing.is_some()
            || self.one_sees_all.is_some()
            || self.impaired.is_some()
            || self.during_outage.is_some()
    }
}

/// Whether a condition holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Truth {
    /// It holds.
    Yes,
    /// It does not.
    No,
    /// A fact is not stated.
    Unknown(Missing),
}

impl Truth {
    /// A fact that is stated, or the name of the one that is not.
    pub fn of(stated: Option<bool>, missing: Missing) -> Self {
        match stated {
            Some(true) => Self::Yes,
            Some(false) => Self::No,
            None => Self::Unknown(missing),
        }
    }

    /// Both: one that fails decides, else one that is missing.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::No, _) | (_, Self::No) => Self::No,
            (Self::Unknown(missing), _) | (_, Self::Unknown(missing)) => Self::Unknown(missing),
            (Self::Yes, Self::Yes) => Self::Yes,
        }
    }

    /// The opposite; a missing fact stays missing.
    #[must_use]
    pub fn is(self, wanted: bool) -> Self {
        match (self, wanted) {
            (Self::Yes, false) => Self::No,
            (Self::No, false) => Self::Yes,
            (same, _) => same,
        }
    }
}

/// A fact that a source depends on and the facts do not state: its key in the FACTS file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing(pub &'static str);

impl Missing {
    /// Keys that a source can miss.
    pub const KEYS: &'static [&'static str] = &[
        "building.occupancy",
        "building.sleeping",
        "building.open",
        "building.crowd",
        "building.outdoor",
        "building.worship",
        "building.sprinklered",
        "construction.height_m",
        "construction.storey_area_m2",
        "construction.stage",
        "construction.hours",
        "hot_work.last_spark",
        "hot_work.combustibles_m",
        "hot_work.easily_ignited",
        "hot_work.openings_m",
        "hot_work.metal_partition",
        "hot_work.impaired",
        "outage.expected_until",
    ];
}

impl Serialize for Missing {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.0)
    }
}

impl<'de> Deserialize<'de> for Missing {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        let known = Self::KEYS.iter().find(|key| **key == text);
        known.map(|key| Self(key)).ok_or_else(|| D::Error::custom("no key of the facts"))
    }
}
