//! `other_duty`: The guard was given something else to do.

use serde::{Deserialize, Serialize};

/// The guard was given something else to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OtherDuty {
    /// Began (true) or ended.
    pub began: bool,
}
