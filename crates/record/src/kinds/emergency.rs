//! `emergency`: A stamp of the emergency card.

use crate::codes::EmergencyStage;
use crate::ids::{StopId, ZoneId};
use serde::{Deserialize, Serialize};

/// A stamp of the emergency card.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Emergency {
    /// Which stamp.
    pub stage: EmergencyStage,
    /// The last stop before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop: Option<StopId>,
    /// The zone, if said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// When, if not when written, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
    /// In a drill.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub drill: bool,
}
