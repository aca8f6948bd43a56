//! `shift_began`: One guard's stretch begins: "I am here".

use serde::{Deserialize, Serialize};

/// One guard's stretch begins: "I am here".
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShiftBegan {
    /// Planned end, ms UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until_ms: Option<i64>,
    /// Whether the phone stays silent.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub silent: bool,
}
