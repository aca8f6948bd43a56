//! `restored`: The server was restored or moved.

use crate::codes::RestoreCause;
use serde::{Deserialize, Serialize};

/// The server was restored or moved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Restored {
    /// Why.
    pub cause: RestoreCause,
    /// The log's size then.
    pub size: u64,
}
