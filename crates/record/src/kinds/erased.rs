//! `erased`: A private line or a blob was erased.

use ledger::{Digest, LineId, PersonId};
use serde::{Deserialize, Serialize};

/// A private line or a blob was erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Erased {
    /// Whose private line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<LineId>,
    /// Which blob.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blob: Option<Digest>,
    /// Who decided.
    pub by: PersonId,
    /// The second person.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seconded_by: Option<PersonId>,
}
