//! `paper_allowed`: Paper may take over.

use crate::codes::PaperWhy;
use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// Paper may take over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PaperAllowed {
    /// Why.
    pub why: PaperWhy,
    /// For whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guard: Option<PersonId>,
}
