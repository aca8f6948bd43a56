//! `revoked`: A device is trusted no longer from here on.

use ledger::{DeviceId, PersonId};
use serde::{Deserialize, Serialize};

/// A device is trusted no longer from here on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Revoked {
    /// The device.
    pub device: DeviceId,
    /// Who revoked it.
    pub by: PersonId,
}
