//! What is kept to let somebody in.

use crate::settings::{Kept, LOGINS};
use ledger::PersonId;
use serde::{Deserialize, Serialize};

/// A name to sign in with and the hash of its password. The key is the name in lower case.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Login {
    pub(crate) person: PersonId,
    pub(crate) hash: String,
}

impl Kept for Login {
    const COLLECTION: &'static str = LOGINS;
}

/// The form of a sign-in name under which it is kept.
pub(crate) fn key(name: &str) -> String {
    ledger::canonical::nfc(name.trim()).to_lowercase()
}
