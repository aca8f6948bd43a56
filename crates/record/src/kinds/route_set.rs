//! `route_set`: The route to walk, again whenever it changes.

use crate::ids::StopId;
use ledger::{Digest, PersonId};
use serde::{Deserialize, Serialize};

/// The route to walk, again whenever it changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RouteSet {
    /// The blob with its legs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub route: Option<Digest>,
    /// The stops in walking order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stops: Vec<StopId>,
    /// Walking time to each stop from the one before, s; empty if not known.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub legs_s: Vec<u32>,
    /// Whose route it is, if not everybody's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub guard: Option<PersonId>,
}
