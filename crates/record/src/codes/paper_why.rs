//! Why paper takes over.

use serde::{Deserialize, Serialize};

/// Why paper takes over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PaperWhy {
    /// The phone is dead.
    PhoneDead,
    /// The phone is lost.
    PhoneLost,
    /// The phone does not work.
    PhoneFaulty,
    /// There never was a phone.
    NoPhone,
    /// The terms ask for paper as well.
    Terms,
}

impl PaperWhy {
    /// All of them, in the order in which they are shown.
    pub const ALL: [PaperWhy; 5] = [
        PaperWhy::PhoneDead,
        PaperWhy::PhoneLost,
        PaperWhy::PhoneFaulty,
        PaperWhy::NoPhone,
        PaperWhy::Terms,
    ];
}
