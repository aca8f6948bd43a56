//! `phoned_in`: A guard told the desk by telephone.

use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// A guard told the desk by telephone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PhonedIn {
    /// Who rang.
    pub by: PersonId,
    /// The time that they gave, ms UTC.
    pub at_ms: i64,
    /// The kind that it states.
    pub states: String,
    /// The body of that kind.
    pub body: serde_json::Map<String, serde_json::Value>,
}
