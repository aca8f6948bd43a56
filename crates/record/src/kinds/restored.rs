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
    /// Name of the log, if it lost its end: no more is signed of it, and another log goes on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub log: Option<String>,
    /// Leaves under the highest head of that log that may have been signed. Those from `size` on are
    /// missing unless they came back from phones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signed: Option<u64>,
}
