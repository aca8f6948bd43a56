//! `observed`: Something was found. The words are in the private line.

use crate::codes::{HazardClass, Severity};
use crate::ids::{PlaceId, StopId, ZoneId};
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Something was found. The words are in the private line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observed {
    /// Its class.
    pub class: HazardClass,
    /// How bad.
    pub severity: Severity,
    /// Where: the zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// Where: the nearest stop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop: Option<StopId>,
    /// Where: a place from the site's own list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceId>,
    /// When, if not when written, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
    /// The earlier observation that it repeats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<LineId>,
}
