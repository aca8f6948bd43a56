//! `delivered`: A report went out, or failed to.

use crate::codes::Channel;
use ledger::Digest;
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
}
