//! `hot_work_closed`: The tail is over and the permit signed off.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// The tail is over and the permit signed off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HotWorkClosed {
    /// The line that began the work.
    pub work: LineId,
    /// Surveyed and found without further hazard.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub surveyed: bool,
}
