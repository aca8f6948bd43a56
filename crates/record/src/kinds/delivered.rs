//! `delivered`: A report went out, or failed to.

use crate::codes::{Channel, ReviewOf};
use ledger::{Digest, LineId};
use serde::{Deserialize, Serialize};

/// A report went out, or failed to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Delivered {
    /// The report's bytes.
    pub what: Digest,
    /// Its number, amendments count on.
    pub number: u32,
    /// By which way.
    pub channel: Channel,
    /// Digest of the address.
    pub to: Digest,
    /// Whether it was taken.
    pub ok: bool,
    /// What it covers and what it rests on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub report: Option<Reported>,
}

/// What a report covers and what it rests on: enough to print it again, and to tell what came in since.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reported {
    /// A shift, a day, the whole watch.
    pub of: ReviewOf,
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
    /// When it was issued, ms UTC.
    pub issued_ms: i64,
    /// The `sealed` line that counts the chains it rests on.
    pub counted: LineId,
}
