//! A protection system that can be out.

use serde::{Deserialize, Serialize};

/// A protection system that can be out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum System {
    /// Fire detection and alarm.
    FireAlarm,
    /// Sprinklers.
    Sprinkler,
    /// Standpipes, risers, hose.
    Standpipe,
    /// Pump, tank, main or hydrant.
    WaterSupply,
    /// Foam, gas, hood and other special systems.
    SpecialHazard,
    /// Smoke control.
    SmokeControl,
    /// The line to the monitoring company.
    Monitoring,
    /// Emergency lighting.
    EmergencyLighting,
    /// None: the building has not got one yet.
    None,
}

impl System {
    /// All of them, in the order in which they are shown.
    pub const ALL: [System; 9] = [
        System::FireAlarm,
        System::Sprinkler,
        System::Standpipe,
        System::WaterSupply,
        System::SpecialHazard,
        System::SmokeControl,
        System::Monitoring,
        System::EmergencyLighting,
        System::None,
    ];
}
