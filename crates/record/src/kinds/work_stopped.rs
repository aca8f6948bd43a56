//! `work_stopped`: The guard stopped work.

use crate::ids::PlaceId;
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// The guard stopped work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkStopped {
    /// The line that began the work, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<LineId>,
    /// Where.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceId>,
}
