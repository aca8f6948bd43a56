//! Who is speaking: every request of a phone is signed with the device's key. A note, not a session:
//! nothing to log into, nothing that expires while a phone is off, and since every request is
//! idempotent, nothing gained by playing one back.

use ledger::{DeviceId, Digest, PublicKey, Signature, canonical};
use serde::{Deserialize, Serialize};
use std::fmt;

/// How far a phone's clock may be off, ms. Wide on purpose: a wrong clock must not silence a guard.
pub const CLOCK_SPREAD_MS: i64 = 12 * 3_600_000;

/// What the phone signs for one request. Its canonical text is the header
/// [`DEVICE_HEADER`](super::DEVICE_HEADER).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RequestNote {
    /// The phone's wall clock, ms.
    pub at: i64,
    /// Digest of the body's bytes (of no bytes for a request without a body).
    pub body: Digest,
    /// The device.
    pub dev: DeviceId,
    /// The path asked for, without host and query.
    pub path: String,
    /// Version of this note, 1.
    pub v: u64,
}

/// Why a request is not known to be that device's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AuthenticationFault {
    /// The header is not a note in canonical form.
    Form,
    /// The note speaks of another path.
    OtherPath,
    /// The note speaks of another body.
    OtherBody,
    /// The device is not enrolled, or was revoked.
    UnknownDevice,
    /// The signature does not fit the note.
    Signature,
    /// The phone's clock is more than [`CLOCK_SPREAD_MS`] off.
    Clock {
        /// Phone minus server, ms.
        off_ms: i64,
    },
}

impl fmt::Display for AuthenticationFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            AuthenticationFault::Form => {
                f.write_str("the device header is not a note in canonical form")
            }
            AuthenticationFault::OtherPath => f.write_str("the device header names another path"),
            AuthenticationFault::OtherBody => f.write_str("the device header names another body"),
            AuthenticationFault::UnknownDevice => {
                f.write_str("this device is not enrolled here, or no longer: enrol it at the desk")
            }
            AuthenticationFault::Signature => {
                f.write_str("the signature does not fit the device header")
            }
            AuthenticationFault::Clock { off_ms } => write!(
                f,
                "the phone's clock is {} h off, {} h are allowed: set its date and time",
                off_ms / 3_600_000,
                CLOCK_SPREAD_MS / 3_600_000
            ),
        }
    }
}

impl std::error::Error for AuthenticationFault {}

impl RequestNote {
    /// The note for a request.
    pub fn new(dev: DeviceId, path: &str, body: &[u8], at: i64) -> RequestNote {
        RequestNote { at, body: Digest::of(body), dev, path: path.to_owned(), v: 1 }
    }

    /// The header text, which is also what is signed.
    pub fn text(&self) -> String {
        let bytes = canonical::to_bytes(self).expect("a path of a request is short plain text");
        String::from_utf8(bytes).expect("canonical bytes are UTF-8")
    }

    /// Checks the headers of a request and says which device sent it. `key_of` gives the key of a
    /// device that may speak, `now_ms` is the server's clock.
    pub fn check(
        text: &str,
        signature: &Signature,
        path: &str,
        body: &[u8],
        now_ms: i64,
        key_of: impl FnOnce(DeviceId) -> Option<PublicKey>,
    ) -> Result<RequestNote, AuthenticationFault> {
        let value = canonical::parse(text.as_bytes()).map_err(|_| AuthenticationFault::Form)?;
        let note: RequestNote =
            ledger::json::of_value(&value).map_err(|_| AuthenticationFault::Form)?;
        if note.v != 1 {
            return Err(AuthenticationFault::Form);
        }
        if note.path != path {
            return Err(AuthenticationFault::OtherPath);
        }
        if note.body != Digest::of(body) {
            return Err(AuthenticationFault::OtherBody);
        }
        let key = key_of(note.dev)
            .filter(|key| key.device() == note.dev)
            .ok_or(AuthenticationFault::UnknownDevice)?;
        if !key.verifies(text.as_bytes(), signature) {
            return Err(AuthenticationFault::Signature);
        }
        let off_ms = note.at.saturating_sub(now_ms);
        if off_ms.abs() > CLOCK_SPREAD_MS {
            return Err(AuthenticationFault::Clock { off_ms });
        }
        Ok(note)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ledger::DeviceKey;

    const NOW_MS: i64 = 1_796_000_000_000;

    fn check(path: &str, body: &[u8], now_ms: i64) -> Result<RequestNote, AuthenticationFault> {
        let key = DeviceKey::from_seed([7; 32]);
        let text = RequestNote::new(key.device(), "/sync", b"{}", NOW_MS).text();
        let signature = key.sign(text.as_bytes());
        RequestNote::check(&text, &signature, path, body, now_ms, |_| Some(key.public()))
    }

    #[test]
    fn a_note_speaks_for_one_path_and_one_body() {
        assert_eq!(check("/sync", b"{}", NOW_MS).unwrap().path, "/sync");
        assert_eq!(check("/blob", b"{}", NOW_MS), Err(AuthenticationFault::OtherPath));
        assert_eq!(check("/sync", b"{ }", NOW_MS), Err(AuthenticationFault::OtherBody));
    }

    #[test]
    fn a_wrong_clock_is_forgiven_up_to_twelve_hours() {
        assert!(check("/sync", b"{}", NOW_MS + CLOCK_SPREAD_MS).is_ok());
        let fault = AuthenticationFault::Clock { off_ms: -CLOCK_SPREAD_MS - 1 };
        assert_eq!(check("/sync", b"{}", NOW_MS + CLOCK_SPREAD_MS + 1), Err(fault));
    }

    #[test]
    fn another_key_or_a_changed_note_is_refused() {
        let (key, other) = (DeviceKey::from_seed([7; 32]), DeviceKey::from_seed([8; 32]));
        let text = RequestNote::new(key.device(), "/sync", b"", NOW_MS).text();
        let check = |text: &str, known: Option<PublicKey>| {
            let signature =
                key.sign(RequestNote::new(key.device(), "/sync", b"", NOW_MS).text().as_bytes());
            RequestNote::check(text, &signature, "/sync", b"", NOW_MS, |_| known)
        };
        assert_eq!(check(&text, None), Err(AuthenticationFault::UnknownDevice));
        assert_eq!(check(&text, Some(other.public())), Err(AuthenticationFault::UnknownDevice));
        let later = text.replace(&NOW_MS.to_string(), &(NOW_MS + 1).to_string());
        assert_eq!(check(&later, Some(key.public())), Err(AuthenticationFault::Signature));
        assert_eq!(
            check(&text.replace(':', ": "), Some(key.public())),
            Err(AuthenticationFault::Form)
        );
    }
}
