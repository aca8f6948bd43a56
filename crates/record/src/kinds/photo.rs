//! `photo`: A picture, named by its digest.

use ledger::{Digest, LineId};
use serde::{Deserialize, Serialize};

/// A picture, named by its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// The line that it belongs to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<LineId>,
    /// The bytes.
    pub blob: Digest,
    /// Their number.
    pub len: u64,
    /// `image/jpeg`, `image/png` or `image/webp`.
    pub mime: String,
}
