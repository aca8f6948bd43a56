//! `relief_taken`: The next guard takes over; from here on that guard is answerable.

use ledger::{LineId, PersonId};
use serde::{Deserialize, Serialize};

/// The next guard takes over; from here on that guard is answerable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReliefTaken {
    /// The offer, if this phone has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offered: Option<LineId>,
    /// From whom.
    pub from: PersonId,
    /// Open observations that were handed over.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<LineId>,
}
