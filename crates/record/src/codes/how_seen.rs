//! How presence at a stop was confirmed.

use serde::{Deserialize, Serialize};

/// How presence at a stop was confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HowSeen {
    /// A tag at the stop was read.
    Tag,
    /// A position outdoors was close enough.
    Position,
    /// The guard said so.
    Hand,
}

impl HowSeen {
    /// All of them, in the order in which they are shown.
    pub const ALL: [HowSeen; 3] = [HowSeen::Tag, HowSeen::Position, HowSeen::Hand];
}
