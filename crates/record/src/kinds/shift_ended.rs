//! `shift_ended`: The guard's stretch ends and is signed.

use ledger::Digest;
use serde::{Deserialize, Serialize};

/// The guard's stretch ends and is signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShiftEnded {
    /// The guard states that nothing is left open.
    pub all_clear: bool,
    /// The drawn signature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signature: Option<Digest>,
    /// Rounds walked, as the guard counts them.
    pub rounds: u32,
    /// Lines of this chain that the signature covers.
    pub lines: u64,
}
