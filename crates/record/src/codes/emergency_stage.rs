//! The stamps of the emergency card.

use serde::{Deserialize, Serialize};

/// The stamps of the emergency card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EmergencyStage {
    /// The card was opened: says nothing yet.
    Opened,
    /// Fire, smoke or smell seen.
    Seen,
    /// The fire service called.
    Called,
    /// Alarm or horn given.
    Alarmed,
    /// Everyone out.
    Out,
    /// The engine is here.
    EngineHere,
    /// The fire service said that it is over.
    StoodDown,
}

impl EmergencyStage {
    /// All of them, in the order in which they are shown.
    pub const ALL: [EmergencyStage; 7] = [
        EmergencyStage::Opened,
        EmergencyStage::Seen,
        EmergencyStage::Called,
        EmergencyStage::Alarmed,
        EmergencyStage::Out,
        EmergencyStage::EngineHere,
        EmergencyStage::StoodDown,
    ];
}
