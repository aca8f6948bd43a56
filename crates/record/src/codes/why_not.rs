//! Why a stop could not be reached.

use serde::{Deserialize, Serialize};

/// Why a stop could not be reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyNot {
    /// Locked, no key.
    Locked,
    /// Blocked.
    Blocked,
    /// Not safe to enter.
    Unsafe,
    /// Somebody refused entry.
    Refused,
    /// Work going on.
    Work,
    /// Occupied by sleepers or guests.
    Occupied,
    /// Another reason, in the private line.
    Other,
}

impl WhyNot {
    /// All of them, in the order in which they are shown.
    pub const ALL: [WhyNot; 7] = [
        WhyNot::Locked,
        WhyNot::Blocked,
        WhyNot::Unsafe,
        WhyNot::Refused,
        WhyNot::Work,
        WhyNot::Occupied,
        WhyNot::Other,
    ];
}
