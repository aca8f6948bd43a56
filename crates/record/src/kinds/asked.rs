//! `asked`: The guard asks the dispatcher or supervisor; the words are in the private line.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// The guard asks the dispatcher or supervisor; the words are in the private line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// About which line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<LineId>,
}
