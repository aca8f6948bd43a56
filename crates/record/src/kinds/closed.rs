//! `closed`: An observation is closed.

use crate::codes::WhatDone;
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// An observation is closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClosedObservation {
    /// The observation.
    pub of: LineId,
    /// What was done in the end.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub done: Vec<WhatDone>,
}
