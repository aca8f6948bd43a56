//! `break_ended`: A break ends.

use serde::{Deserialize, Serialize};

/// A break ends.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BreakEnded {}
