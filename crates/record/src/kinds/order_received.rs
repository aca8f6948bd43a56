//! `order_received`: A written instruction came in.

use crate::codes::DemandFrom;
use crate::ids::ZoneId;
use ledger::Digest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A written instruction came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderReceived {
    /// From whom.
    pub from: DemandFrom,
    /// Its number, if it has one: a code, not words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<String>,
    /// When it was given, ms UTC.
    pub at_ms: i64,
    /// Whether it is in writing.
    pub written: bool,
    /// A picture or file of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blob: Option<Digest>,
    /// Longest gaps that it sets, s.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub gaps_s: BTreeMap<ZoneId, u32>,
    /// Fewest people that it asks for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people_at_least: Option<u16>,
    /// Until when it asks for a watch, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watch_until_ms: Option<i64>,
}
