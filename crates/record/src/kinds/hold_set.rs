//! `hold_set`: Nothing of this watch is erased from here on.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Nothing of this watch is erased from here on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldSet {
    /// The emergency that set it, if one did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cause: Option<LineId>,
}
