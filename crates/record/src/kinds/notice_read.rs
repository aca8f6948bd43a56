//! `notice_read`: The guard has read the privacy notice.

use ledger::Digest;
use serde::{Deserialize, Serialize};

/// The guard has read the privacy notice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoticeRead {
    /// The notice that was read.
    pub notice: Digest,
    /// BCP 47 tag.
    pub language: String,
}
