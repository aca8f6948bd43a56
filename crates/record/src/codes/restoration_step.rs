//! The steps of a restoration (IFC 2018 901.7.6, five steps).

use serde::{Deserialize, Serialize};

/// The steps of a restoration (IFC 2018 901.7.6, five steps).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RestorationStep {
    /// Inspections and tests show that it works.
    Tested,
    /// Supervisors told.
    SupervisorsTold,
    /// The fire service told.
    FireServiceTold,
    /// Owner, insurer, alarm company and others told.
    OthersTold,
    /// Tags removed.
    TagRemoved,
}

impl RestorationStep {
    /// All of them, in the order in which they are shown.
    pub const ALL: [RestorationStep; 5] = [
        RestorationStep::Tested,
        RestorationStep::SupervisorsTold,
        RestorationStep::FireServiceTold,
        RestorationStep::OthersTold,
        RestorationStep::TagRemoved,
    ];
}
