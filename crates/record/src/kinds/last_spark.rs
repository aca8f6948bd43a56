//! `last_spark`: The last spark: the tail begins.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// The last spark: the tail begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LastSpark {
    /// The line that began the work.
    pub work: LineId,
    /// When, if not when written, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
}
