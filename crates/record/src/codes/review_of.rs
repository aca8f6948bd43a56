//! What a signature means.

use serde::{Deserialize, Serialize};

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReviewOf {
    /// One shift was read.
    Shift,
    /// One day was read.
    Day,
    /// The whole watch was read.
    Watch,
}

impl ReviewOf {
    /// All of them, in the order in which they are shown.
    pub const ALL: [ReviewOf; 3] = [ReviewOf::Shift, ReviewOf::Day, ReviewOf::Watch];
}
