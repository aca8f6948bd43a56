//! `exported`: A bundle was made, or a table taken out.

use crate::codes::Table;
use ledger::{HeadRef, PersonId};
use serde::{Deserialize, Serialize};

/// A bundle was made, or a table taken out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exported {
    /// The head that it proves to; with a table, the newest when it was made.
    pub head: HeadRef,
    /// Who asked.
    pub by: PersonId,
    /// Which table; none: the bundle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub table: Option<Table>,
}
