//! `setting_changed`: A setting was changed; what it holds is no part of the record.

use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// A setting was changed; what it holds is no part of the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SettingChanged {
    /// Which: a code, not words.
    pub setting: String,
    /// Who.
    pub by: PersonId,
}
