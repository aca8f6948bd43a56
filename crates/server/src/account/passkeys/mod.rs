//! Passkeys beside the password: a key that never leaves somebody's device and that the device gives out
//! only to them (W3C Web Authentication Level 3; the checks are those of `webauthn-rs`).

mod add;
mod sign_in;

pub(crate) use add::{add, begin as begin_adding, own, remove};
pub(crate) use sign_in::{begin as begin_sign_in, sign_in};

use crate::problem::Problem;
use crate::reached_at::Site;
use crate::settings::Kept;
use ledger::{Digest, PersonId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Mutex;
use webauthn_rs::prelude::{
    DiscoverableAuthentication, Passkey, PasskeyRegistration, Url, Uuid, Webauthn, WebauthnBuilder,
};

/// Passkeys of one person (our own default: some devices and a key in a safe).
const EACH_MAX: usize = 12;
/// A ceremony that was begun ends after so long, ms: as long as the browser asks.
const CEREMONY_MS: i64 = 300_000;
/// Ceremonies at the same time; anybody may begin to sign in.
const CEREMONIES_MAX: usize = 10_000;

/// A passkey as the settings keep it, by the digest of its credential id.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct KeptPasskey {
    pub(crate) person: PersonId,
    /// What its owner calls it.
    pub(crate) name: String,
    /// As the library writes it.
    passkey: String,
    pub(crate) made_ms: i64,
    pub(crate) used_ms: Option<i64>,
}

impl Kept for KeptPasskey {
    const COLLECTION: &'static str = "passkeys";
}

impl KeptPasskey {
    fn read(&self) -> Result<Passkey, Problem> {
        serde_json::from_str(&self.passkey).map_err(unreadable)
    }
}

fn unreadable(error: serde_json::Error) -> Problem {
    Problem::Machine(format!("a passkey cannot be read or written: {error}"))
}

/// Under which key a credential is kept.
fn key_of(credential: &[u8]) -> String {
    Digest::of(credential).to_string()
}

/// What a person is called inside a passkey: always the same, and nobody's name.
fn handle_of(person: &PersonId) -> Uuid {
    let digest = Digest::of(format!("passkey {person}").as_bytes());
    Uuid::from_bytes(digest.0[..16].try_into().expect("16 of 32 bytes"))
}

/// The library for our name, and what was begun.
pub(crate) struct Passkeys {
    webauthn: Option<Webauthn>,
    adding: Begun<PasskeyRegistration>,
    signing: Begun<DiscoverableAuthentication>,
}

impl fmt::Debug for Passkeys {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passkeys")
    }
}

impl Passkeys {
    /// For the addresses that people use. A passkey belongs to a name: on this machine that is
    /// `localhost`, and at a bare number there are none.
    pub(crate) fn of(site: &Site) -> Passkeys {
        let named = |origin: &&String| Url::parse(origin).is_ok_and(|url| url.domain().is_some());
        let origin = site.origins.iter().find(named).and_then(|origin| Url::parse(origin).ok());
        let webauthn = origin.and_then(|origin| {
            let name = origin.domain()?;
            WebauthnBuilder::new(name, &origin).ok()?.rp_name("Rattlewatch").build().ok()
        });
        Passkeys { webauthn, adding: Begun::default(), signing: Begun::default() }
    }

    fn webauthn(&self) -> Result<&Webauthn, Problem> {
        self.webauthn.as_ref().ok_or(Problem::NotFound)
    }
}

/// What was begun and waits for the browser's answer; each is answered once.
struct Begun<T>(Mutex<BTreeMap<String, (i64, T)>>);

impl<T> Default for Begun<T> {
    fn default() -> Begun<T> {
        Begun(Mutex::default())
    }
}

impl<T> Begun<T> {
    fn keep(&self, id: String, now_ms: i64, state: T) -> Result<(), Problem> {
        let mut begun = self.0.lock().expect("nothing panics under this lock");
        begun.retain(|_, (until_ms, _)| *until_ms > now_ms);
        if begun.len() >= CEREMONIES_MAX {
            return Err(Problem::TooMany { retry_s: 60 });
        }
        begun.insert(id, (now_ms + CEREMONY_MS, state));
        Ok(())
    }

    fn take(&self, id: &str, now_ms: i64) -> Option<T> {
        let taken = self.0.lock().expect("nothing panics under this lock").remove(id);
        taken.filter(|(until_ms, _)| *until_ms > now_ms).map(|(_, state)| state)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_begun_is_answered_once_and_in_time() {
        let begun = Begun::default();
        begun.keep("a".to_owned(), 0, 7).unwrap();
        assert_eq!(begun.take("a", 1), Some(7));
        assert_eq!(begun.take("a", 1), None);
        begun.keep("b".to_owned(), 0, 8).unwrap();
        assert_eq!(begun.take("b", CEREMONY_MS), None);
    }

    #[test]
    fn a_person_has_one_handle_and_no_other_person_has_it() {
        let person = |id: &str| PersonId::new(id).unwrap();
        assert_eq!(handle_of(&person("p-1")), handle_of(&person("p-1")));
        assert_ne!(handle_of(&person("p-1")), handle_of(&person("p-2")));
    }
}
