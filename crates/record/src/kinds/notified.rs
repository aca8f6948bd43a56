//! `notified`: A party was told of an impairment or of its end.

use crate::codes::{Means, Party, System};
use serde::{Deserialize, Serialize};

/// A party was told of an impairment or of its end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notified {
    /// Who.
    pub party: Party,
    /// How.
    pub means: Means,
    /// About which system.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub system: Option<System>,
    /// Told of the end (true) or of the start.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub restored: bool,
    /// When, if not when written, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
}
