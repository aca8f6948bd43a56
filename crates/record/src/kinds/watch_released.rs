//! `watch_released`: The watch is over.

use crate::codes::ReleasedBy;
use ledger::Digest;
use serde::{Deserialize, Serialize};

/// The watch is over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WatchReleased {
    /// Who ended it.
    pub by: ReleasedBy,
    /// From when, ms UTC.
    pub at_ms: i64,
    /// Whether the release is in writing.
    pub written: bool,
    /// A picture or file of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blob: Option<Digest>,
}
