//! `anchored`: A head was stamped by somebody outside.

use ledger::{Digest, HeadRef};
use serde::{Deserialize, Serialize};

/// A head was stamped by somebody outside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Anchored {
    /// The head.
    pub head: HeadRef,
    /// The time stamp's bytes.
    pub stamp: Digest,
}
