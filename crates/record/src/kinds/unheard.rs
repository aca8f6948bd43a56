//! `unheard`: A device has not been heard from although something was due.

use crate::ids::ZoneId;
use ledger::DeviceId;
use serde::{Deserialize, Serialize};

/// A device has not been heard from although something was due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unheard {
    /// Which device, if it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device: Option<DeviceId>,
    /// What was due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// Last heard, ms UTC.
    pub since_ms: i64,
    /// What was due then, ms UTC.
    pub due_ms: i64,
}
