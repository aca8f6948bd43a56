//! Why a line is corrected.

use serde::{Deserialize, Serialize};

/// Why a line is corrected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyCorrected {
    /// Taken back at once: pressed by mistake.
    TakenBack,
    /// The place was wrong.
    WrongPlace,
    /// The time was wrong.
    WrongTime,
    /// The person was wrong.
    WrongPerson,
    /// The words were wrong.
    WrongWords,
    /// Something was left out.
    Incomplete,
    /// The severity was changed with a reason.
    Severity,
}

impl WhyCorrected {
    /// All of them, in the order in which they are shown.
    pub const ALL: [WhyCorrected; 7] = [
        WhyCorrected::TakenBack,
        WhyCorrected::WrongPlace,
        WhyCorrected::WrongTime,
        WhyCorrected::WrongPerson,
        WhyCorrected::WrongWords,
        WhyCorrected::Incomplete,
        WhyCorrected::Severity,
    ];
}
