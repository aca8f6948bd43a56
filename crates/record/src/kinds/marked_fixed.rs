//! `marked_fixed`: The client says that an observation is put right; the guard checks.

use ledger::{Digest, LineId};
use serde::{Deserialize, Serialize};

/// The client says that an observation is put right; the guard checks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkedFixed {
    /// The observation.
    pub of: LineId,
    /// A picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub photo: Option<Digest>,
}
