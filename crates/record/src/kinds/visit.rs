//! `visit`: A supervisor or inspector came by.

use crate::codes::Party;
use serde::{Deserialize, Serialize};

/// A supervisor or inspector came by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visit {
    /// Who.
    pub by: Party,
    /// Announced beforehand.
    pub announced: bool,
    /// The guard was found on duty.
    pub guard_found: bool,
}
