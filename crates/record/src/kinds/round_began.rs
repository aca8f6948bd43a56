//! `round_began`: A round begins.

use serde::{Deserialize, Serialize};

/// A round begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RoundBegan {
    /// 1, 2, 3 … in this shift.
    pub round: u32,
}
