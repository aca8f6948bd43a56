//! `enrolled`: A device joins: stated by the device itself with its key, then by the server with the person who let it in.

use crate::codes::{KeyKept, Role};
use ledger::{DeviceId, Digest, PersonId, PublicKey};
use serde::{Deserialize, Serialize};

/// A device joins: stated by the device itself with its key, then by the server with the person who let it in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Enrolled {
    /// The device.
    pub device: DeviceId,
    /// Its public key.
    pub key: PublicKey,
    /// How it holds the private half.
    pub keep: KeyKept,
    /// What its people may do.
    pub role: Role,
    /// Whose device it is, if one person's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<PersonId>,
    /// Digest of the one-time token that was used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub token: Option<Digest>,
    /// Who let it in; only the server states this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<PersonId>,
}
