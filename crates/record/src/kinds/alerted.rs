//! `alerted`: Somebody was alerted.

use crate::codes::{AlertCause, Channel};
use crate::ids::ZoneId;
use ledger::{LineId, PersonId};
use serde::{Deserialize, Serialize};

/// Somebody was alerted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alerted {
    /// Why.
    pub cause: AlertCause,
    /// Which zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
    /// When it was due, ms UTC.
    pub due_ms: i64,
    /// 0 for the first step, then 1, 2 …
    pub step: u16,
    /// By which way.
    pub channel: Channel,
    /// To whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<PersonId>,
    /// About which line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<LineId>,
    /// A later line shows that all was well.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub withdrawn: bool,
}
