//! `impairment_restored`: A system works again.

use crate::codes::{RestorationStep, System};
use serde::{Deserialize, Serialize};

/// A system works again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ImpairmentRestored {
    /// Which.
    pub system: System,
    /// Since when, ms UTC.
    pub at_ms: i64,
    /// Steps done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<RestorationStep>,
}
