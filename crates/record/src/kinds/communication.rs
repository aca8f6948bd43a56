//! `communication`: Somebody was told something.

use crate::codes::{Means, Party};
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Somebody was told something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Communication {
    /// Who.
    pub party: Party,
    /// How.
    pub means: Means,
    /// About which line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<LineId>,
    /// When, if not when written, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
    /// Whether they were reached.
    pub reached: bool,
}
