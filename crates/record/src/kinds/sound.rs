//! `sound`: A sound recording, where the site allows it.

use ledger::{Digest, LineId};
use serde::{Deserialize, Serialize};

/// A sound recording, where the site allows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sound {
    /// The line that it belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<LineId>,
    /// The bytes.
    pub blob: Digest,
    /// Their number.
    pub len: u64,
    /// Its media type.
    pub mime: String,
}
