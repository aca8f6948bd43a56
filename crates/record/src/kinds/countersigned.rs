//! `countersigned`: The client signed.

use crate::codes::ReviewOf;
use ledger::Digest;
use serde::{Deserialize, Serialize};

/// The client signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Countersigned {
    /// What was read.
    pub of: ReviewOf,
    /// Up to when, ms UTC.
    pub to_ms: i64,
    /// The drawn signature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signature: Option<Digest>,
}
