//! `acted`: Something was done about an observation.

use crate::codes::WhatDone;
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Something was done about an observation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acted {
    /// The observation.
    pub of: LineId,
    /// What was done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub done: Vec<WhatDone>,
    /// When, if not when written, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
}
