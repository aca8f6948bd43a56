//! `hold_lifted`: Erasure is allowed again.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Erasure is allowed again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldLifted {
    /// The hold.
    pub hold: LineId,
}
