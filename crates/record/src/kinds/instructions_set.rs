//! `instructions_set`: The site's instructions, a new version each time.

use ledger::Digest;
use serde::{Deserialize, Serialize};

/// The site's instructions, a new version each time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstructionsSet {
    /// The blob.
    pub instructions: Digest,
    /// 1, 2, 3 …
    pub version: u32,
    /// BCP 47 tag.
    pub language: String,
}
