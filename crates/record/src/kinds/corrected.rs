//! `corrected`: A correction: the old line stays.

use crate::codes::{Severity, WhyCorrected};
use crate::ids::{StopId, ZoneId};
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// A correction: the old line stays.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Corrected {
    /// The line that is corrected.
    pub of: LineId,
    /// Why.
    pub why: WhyCorrected,
    /// The right time, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
    /// The right zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// The right stop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop: Option<StopId>,
    /// The new severity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub severity: Option<Severity>,
    /// The line no longer counts.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub withdrawn: bool,
}
