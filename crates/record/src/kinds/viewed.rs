//! `viewed`: Somebody read the record.

use crate::codes::Role;
use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// Somebody read the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Viewed {
    /// Who.
    pub by: PersonId,
    /// As what.
    pub role: Role,
}
