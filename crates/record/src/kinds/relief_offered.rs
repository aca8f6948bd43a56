//! `relief_offered`: The guard offers the watch to the next.

use ledger::{LineId, PersonId};
use serde::{Deserialize, Serialize};

/// The guard offers the watch to the next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReliefOffered {
    /// To whom, if known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<PersonId>,
    /// Observations that stay open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<LineId>,
}
