//! `seen`: Presence at a stop, so the zone is recorded as seen.

use crate::codes::HowSeen;
use crate::ids::{StopId, ZoneId};
use ledger::Digest;
use serde::{Deserialize, Serialize};

/// Presence at a stop, so the zone is recorded as seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seen {
    /// The stop.
    pub stop: StopId,
    /// Its zone.
    pub zone: ZoneId,
    /// How it was confirmed.
    pub how: HowSeen,
    /// Digest of what the tag said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<Digest>,
    /// The round that it belongs to.
    pub round: u32,
    /// Whether the private line holds a position.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub fix: bool,
}
