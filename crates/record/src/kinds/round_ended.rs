//! `round_ended`: A round ends with a statement.

use serde::{Deserialize, Serialize};

/// A round ends with a statement.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RoundEnded {
    /// Which round.
    pub round: u32,
    /// Nothing new found.
    pub all_clear: bool,
    /// Stops seen in it.
    pub seen: u32,
}
