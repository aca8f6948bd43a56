//! `instructions_read`: The guard has read the instructions.

use ledger::Digest;
use serde::{Deserialize, Serialize};

/// The guard has read the instructions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstructionsRead {
    /// The blob that was read.
    pub instructions: Digest,
    /// Its version.
    pub version: u32,
}
