//! `plan_set`: The site's plan, again whenever it changes.

use crate::ids::{StopId, ZoneId};
use ledger::Digest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The site's plan, again whenever it changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanSet {
    /// The blob with the plan.
    pub plan: Digest,
    /// Its zones.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub zones: Vec<ZoneId>,
    /// Which zone each stop belongs to.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub stops: BTreeMap<StopId, ZoneId>,
}
