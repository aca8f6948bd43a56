//! The twelve classes of what a guard looks for (common practice; city check-lists and model-code daily lists).

use serde::{Deserialize, Serialize};

/// The twelve classes of what a guard looks for (common practice; city check-lists and model-code daily lists).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HazardClass {
    /// Fire, smoke, heat or an odour nobody can explain.
    Fire,
    /// Exits and stairs: blocked, locked, dark.
    Exits,
    /// Fire doors and walls: wedged, holed.
    FireDoors,
    /// Protection gear: valves, panels, extinguishers, standpipes.
    Protection,
    /// Access for engines.
    Access,
    /// Hot work and its leftovers.
    HotWork,
    /// Rubbish, packaging, dust, oily rags.
    Rubbish,
    /// Flammable liquids and gases.
    Flammables,
    /// Heating and cooking.
    Heating,
    /// Electrical, temporary wiring.
    Electrical,
    /// Batteries and charging.
    Batteries,
    /// People: smoking, flames, crowd, intruders.
    People,
}

impl HazardClass {
    /// All of them, in the order in which they are shown.
    pub const ALL: [HazardClass; 12] = [
        HazardClass::Fire,
        HazardClass::Exits,
        HazardClass::FireDoors,
        HazardClass::Protection,
        HazardClass::Access,
        HazardClass::HotWork,
        HazardClass::Rubbish,
        HazardClass::Flammables,
        HazardClass::Heating,
        HazardClass::Electrical,
        HazardClass::Batteries,
        HazardClass::People,
    ];
}

impl HazardClass {
    /// Where the severity starts; the guard may raise it, the desk lower it with a reason
    /// (our own defaults).
    pub fn default_severity(self) -> crate::codes::Severity {
        use crate::codes::Severity::*;
        match self {
            HazardClass::Fire => LifeNow,
            HazardClass::Exits
            | HazardClass::FireDoors
            | HazardClass::Protection
            | HazardClass::HotWork
            | HazardClass::Flammables
            | HazardClass::Heating
            | HazardClass::Batteries => ThisRound,
            HazardClass::Access
            | HazardClass::Rubbish
            | HazardClass::Electrical
            | HazardClass::People => ThisShift,
        }
    }
}
