//! `heartbeat`: A device is alive.

use serde::{Deserialize, Serialize};

/// A device is alive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Heartbeat {
    /// Charge, percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery: Option<u8>,
    /// Lines on it without a receipt.
    pub waiting: u64,
    /// Free storage, KiB.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub free_kib: Option<u64>,
}
