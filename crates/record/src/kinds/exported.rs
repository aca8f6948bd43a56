//! `exported`: A bundle was made.

use ledger::{HeadRef, PersonId};
use serde::{Deserialize, Serialize};

/// A bundle was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exported {
    /// The head that it proves to.
    pub head: HeadRef,
    /// Who asked.
    pub by: PersonId,
}
