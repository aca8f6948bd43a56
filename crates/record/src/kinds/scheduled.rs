//! `scheduled`: A person is planned for a shift.

use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// A person is planned for a shift.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scheduled {
    /// Who.
    pub person: PersonId,
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
    /// No longer planned.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub withdrawn: bool,
}
