//! `break_began`: A break begins.

use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// A break begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BreakBegan {
    /// Who covers it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub covered_by: Option<PersonId>,
}
