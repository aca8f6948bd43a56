//! `note`: Words about a line or about the night; they are in the private line.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Words about a line or about the night; they are in the private line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// The line that it belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<LineId>,
}
