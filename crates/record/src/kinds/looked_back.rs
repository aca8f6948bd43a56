//! `looked_back`: A look at the place of earlier hot work.

use crate::ids::ZoneId;
use ledger::LineId;
use serde::{Deserialize, Serialize};

/// A look at the place of earlier hot work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LookedBack {
    /// The line that began the work.
    pub work: LineId,
    /// The zone, so that the look counts for it too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// Nothing found.
    pub clear: bool,
}
