//! `reviewed`: Somebody of the house read the record.

use crate::codes::ReviewOf;
use serde::{Deserialize, Serialize};

/// Somebody of the house read the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reviewed {
    /// What was read.
    pub of: ReviewOf,
    /// Up to when, ms UTC.
    pub to_ms: i64,
}
