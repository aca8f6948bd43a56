//! `terms_set`: What the watch must satisfy.

use crate::ids::ZoneId;
use ledger::Digest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What the watch must satisfy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TermsSet {
    /// The blob with every demand and its source.
    pub terms: Digest,
    /// The longest allowed gap of each zone, s.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub gaps_s: BTreeMap<ZoneId, u32>,
    /// The first round is due this long after a shift begins, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_round_s: Option<u32>,
    /// Fewest people on duty.
    pub people_at_least: u16,
    /// Whether the guard may have other duties.
    pub other_duties: bool,
    /// How long the record must be kept, s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retain_s: Option<u64>,
}
