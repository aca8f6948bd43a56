//! `clock`: A device noticed that its clocks disagree.

use serde::{Deserialize, Serialize};

/// A device noticed that its clocks disagree.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clock {
    /// How far the wall clock moved against the monotonic one.
    pub wall_step_ms: i64,
    /// Whether the device may have slept meanwhile.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub asleep: bool,
}
