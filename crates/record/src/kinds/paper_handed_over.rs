//! `paper_handed_over`: Sheets were handed over.

use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// Sheets were handed over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PaperHandedOver {
    /// How many.
    pub sheets: u16,
    /// To whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<PersonId>,
}
