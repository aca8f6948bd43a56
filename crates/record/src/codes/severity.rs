//! How bad it is (common practice).

use serde::{Deserialize, Serialize};

/// How bad it is (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Life now: call, clear.
    LifeNow,
    /// To be put right this round.
    ThisRound,
    /// To be reported this shift.
    ThisShift,
    /// Worth a note.
    Note,
}

impl Severity {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Severity; 4] =
        [Severity::LifeNow, Severity::ThisRound, Severity::ThisShift, Severity::Note];
}
