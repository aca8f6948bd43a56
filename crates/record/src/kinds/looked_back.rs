//! `looked_back`: A look at the place of earlier hot work.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// A look at the place of earlier hot work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LookedBack {
    /// The line that began the work.
    pub work: LineId,
    /// Nothing found.
    pub clear: bool,
}
