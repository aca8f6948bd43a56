//! `hot_work_began`: Hot work begins.

use crate::ids::{PlaceId, ZoneId};
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Hot work begins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HotWorkBegan {
    /// The permit's line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub permitted: Option<LineId>,
    /// Where.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceId>,
    /// The zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// The line that began the same work before: it goes on again, so the tail that ran counts no more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<LineId>,
}
