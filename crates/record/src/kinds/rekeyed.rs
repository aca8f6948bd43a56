//! `rekeyed`: A device changes its key; signed with the old one.

use crate::codes::KeyKept;
use ledger::PublicKey;
use serde::{Deserialize, Serialize};

/// A device changes its key; signed with the old one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rekeyed {
    /// The new public key.
    pub key: PublicKey,
    /// How the new key is held.
    pub keep: KeyKept,
}
