//! The steps before or at an impairment (IFC 2018 901.7.4, eight steps).

use serde::{Deserialize, Serialize};

/// The steps before or at an impairment (IFC 2018 901.7.4, eight steps).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ImpairmentStep {
    /// Extent and expected duration determined.
    ExtentKnown,
    /// Areas inspected, increased risk determined.
    AreasInspected,
    /// Recommendations made to the owner.
    OwnerAdvised,
    /// The fire service told.
    FireServiceTold,
    /// Insurer, alarm company, owner and other authorities told.
    OthersTold,
    /// Supervisors in the areas told.
    SupervisorsTold,
    /// Tags in place.
    Tagged,
    /// Tools and materials on site.
    ToolsReady,
}

impl ImpairmentStep {
    /// All of them, in the order in which they are shown.
    pub const ALL: [ImpairmentStep; 8] = [
        ImpairmentStep::ExtentKnown,
        ImpairmentStep::AreasInspected,
        ImpairmentStep::OwnerAdvised,
        ImpairmentStep::FireServiceTold,
        ImpairmentStep::OthersTold,
        ImpairmentStep::SupervisorsTold,
        ImpairmentStep::Tagged,
        ImpairmentStep::ToolsReady,
    ];
}
