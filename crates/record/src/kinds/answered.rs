//! `answered`: An answer to a question.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// An answer to a question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answered {
    /// The question.
    pub of: LineId,
}
