//! `impairment_found`: A system is out.

use crate::codes::{ImpairmentStep, System};
use serde::{Deserialize, Serialize};

/// A system is out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ImpairmentFound {
    /// Which.
    pub system: System,
    /// Since when, ms UTC.
    pub from_ms: i64,
    /// Planned (true) or found.
    pub planned: bool,
    /// Expected back, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_ms: Option<i64>,
    /// Steps done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<ImpairmentStep>,
}
