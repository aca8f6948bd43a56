//! Why a server was restored.

use serde::{Deserialize, Serialize};

/// Why a server was restored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RestoreCause {
    /// From a backup.
    Backup,
    /// Moved to another database.
    Move,
}

impl RestoreCause {
    /// All of them, in the order in which they are shown.
    pub const ALL: [RestoreCause; 2] = [RestoreCause::Backup, RestoreCause::Move];
}
