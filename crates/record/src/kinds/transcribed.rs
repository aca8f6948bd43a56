//! `transcribed`: A line typed from paper. What it states stands in `states`, as another kind's body.

use ledger::{Digest, PersonId};
use serde::{Deserialize, Serialize};

/// A line typed from paper. What it states stands in `states`, as another kind's body.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Transcribed {
    /// The picture of the page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<Digest>,
    /// Who wrote the page.
    pub writer: PersonId,
    /// The time written on the page, ms UTC.
    pub at_ms: i64,
    /// The kind that it states.
    pub states: String,
    /// The body of that kind.
    pub body: serde_json::Map<String, serde_json::Value>,
}
