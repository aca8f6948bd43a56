//! `hot_work_permitted`: A permit was read and checked at the place.

use crate::codes::PermitCheck;
use crate::ids::{PlaceId, ZoneId};
use ledger::Digest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A permit was read and checked at the place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HotWorkPermitted {
    /// Its number: a code, not words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub permit: Option<String>,
    /// Where.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceId>,
    /// The zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// A picture of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blob: Option<Digest>,
    /// Valid until, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until_ms: Option<i64>,
    /// What was checked, true if in order.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub checks: BTreeMap<PermitCheck, bool>,
    /// Continuous watch after the last spark, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watch_s: Option<u32>,
    /// Looks after that, for so long, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub looks_s: Option<u32>,
    /// At most this far apart, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub look_every_s: Option<u32>,
}
