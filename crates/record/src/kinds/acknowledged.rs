//! `acknowledged`: Somebody has taken an alert.

use ledger::LineId;
use serde::{Deserialize, Serialize};

/// Somebody has taken an alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acknowledged {
    /// The alert.
    pub alert: LineId,
}
