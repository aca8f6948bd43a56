//! `access_refused`: A stop could not be reached: counts as not seen.

use crate::codes::WhyNot;
use crate::ids::{StopId, ZoneId};
use serde::{Deserialize, Serialize};

/// A stop could not be reached: counts as not seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AccessRefused {
    /// The stop.
    pub stop: StopId,
    /// Its zone.
    pub zone: ZoneId,
    /// Why.
    pub why: WhyNot,
    /// The round that it belongs to.
    pub round: u32,
}
