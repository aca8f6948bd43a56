//! What a hot work permit asks (common practice: the union of published blank permits).

use serde::{Deserialize, Serialize};

/// What a hot work permit asks (common practice: the union of published blank permits).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PermitCheck {
    /// 35 ft around clear or shielded.
    Clear35Ft,
    /// Sprinklers in service.
    SprinklersOn,
    /// Extinguisher or hose ready.
    ExtinguisherReady,
    /// Equipment in good order.
    EquipmentGood,
    /// Flammables, dust and lint gone.
    FlammablesGone,
    /// Other side of wall, floor and roof checked.
    OtherSideChecked,
    /// Openings covered.
    OpeningsCovered,
    /// Ducts and conveyors closed.
    DuctsClosed,
    /// Enclosed equipment purged.
    EnclosedPurged,
    /// It cannot be done cold or in a shop.
    ColdNotPossible,
    /// Detectors that are off are noted.
    DetectorsNoted,
    /// The person on watch is named.
    WatchNamed,
}

impl PermitCheck {
    /// All of them, in the order in which they are shown.
    pub const ALL: [PermitCheck; 12] = [
        PermitCheck::Clear35Ft,
        PermitCheck::SprinklersOn,
        PermitCheck::ExtinguisherReady,
        PermitCheck::EquipmentGood,
        PermitCheck::FlammablesGone,
        PermitCheck::OtherSideChecked,
        PermitCheck::OpeningsCovered,
        PermitCheck::DuctsClosed,
        PermitCheck::EnclosedPurged,
        PermitCheck::ColdNotPossible,
        PermitCheck::DetectorsNoted,
        PermitCheck::WatchNamed,
    ];
}
