//! `tick`: The log is alive.

use serde::{Deserialize, Serialize};

/// The log is alive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tick {
    /// Watches that are open.
    pub watches: u32,
}
