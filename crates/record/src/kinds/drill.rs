//! `drill`: A drill begins, ends, or was turned into earnest.

use crate::codes::DrillStage;
use serde::{Deserialize, Serialize};

/// A drill begins, ends, or was turned into earnest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drill {
    /// Which.
    pub stage: DrillStage,
}
