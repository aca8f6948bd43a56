//! How a phone becomes known: a one-time token from the desk, a key of its own, and six digits that
//! a person reads aloud to another.

use super::message::Named;
use ledger::{Digest, PublicKey, Signature, WatchId};
use record::KeyKept;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::{Map, Value};

/// What the phone says: `POST /enrol`, signed like every request of a device.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EnrolRequest {
    /// The token of the link.
    pub token: String,
    /// The device's public key.
    pub key: PublicKey,
    /// How the device keeps the private half.
    pub keep: KeyKept,
    /// The canonical bytes of its `enrolled` line, `seq` 0 of its `org` chain.
    pub line: String,
    /// The signature over that line, which proves that the device holds the key.
    pub sig: Signature,
}

/// What the server answers to `POST /enrol` and to `GET /enrol/TOKEN`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "lowercase")]
pub enum EnrolReply {
    /// Somebody at the desk has yet to compare the code.
    Waiting {
        /// Six digits, as [`confirmation_code`] gives them.
        code: String,
    },
    /// The phone is in.
    In(Box<Member>),
    /// The token was used by another phone, has run out, or was withdrawn.
    Refused {
        /// Why, for a log file; the phone shows its own sentence.
        says: String,
    },
}

/// Read by hand: a derived reader of a tagged choice keeps every member in a form of its own first, and so brings
/// a second reader of JSON into what every phone fetches.
impl<'de> Deserialize<'de> for EnrolReply {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<EnrolReply, D::Error> {
        let reply = Map::deserialize(deserializer)?;
        let text = |name: &'static str| {
            let text = reply.get(name).and_then(Value::as_str);
            text.map(str::to_owned).ok_or_else(|| Error::missing_field(name))
        };
        match text("state")?.as_str() {
            "waiting" => Ok(EnrolReply::Waiting { code: text("code")? }),
            "in" => ledger::json::known_of(&reply).map(EnrolReply::In).map_err(Error::custom),
            "refused" => Ok(EnrolReply::Refused { says: text("says")? }),
            other => Err(Error::unknown_variant(other, &["waiting", "in", "refused"])),
        }
    }
}

/// What an enrolled phone knows of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Member {
    /// Whose phone it is.
    pub person: Named,
    /// The organisation's name.
    pub org: String,
    /// Name of the log.
    pub origin: String,
    /// Verifier key of the log, `name+id+base64`: pinned from now on.
    pub log_key: ledger::head::Vkey,
    /// Keys of the server's own device.
    #[serde(default)]
    pub server_keys: Vec<PublicKey>,
    /// The watches this person may see.
    #[serde(default)]
    pub watches: Vec<WatchId>,
    /// Who else may take over on this phone.
    #[serde(default)]
    pub people: Vec<Named>,
    /// Tag of the person's language, if the desk knows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub language: Option<String>,
}

/// The six digits that phone and desk show: from SHA-256 of the raw public key followed by the token's
/// characters, the first eight bytes as a big-endian number, modulo one million. Who slips another
/// key into the link gets another code.
pub fn confirmation_code(key: &PublicKey, token: &str) -> String {
    let digest = Digest::of(&[key.0.as_slice(), token.as_bytes()].concat());
    let first = digest.0[..8].iter().fold(0u64, |number, byte| number << 8 | u64::from(*byte));
    format!("{:06}", first % 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed apart with Python's hashlib for 32 bytes of 0x07 and `t-1`.
    #[test]
    fn the_code_is_that_of_key_and_token() {
        assert_eq!(confirmation_code(&PublicKey([7; 32]), "t-1"), CODE);
        assert_ne!(confirmation_code(&PublicKey([8; 32]), "t-1"), CODE);
        assert_ne!(confirmation_code(&PublicKey([7; 32]), "t-2"), CODE);
    }

    const CODE: &str = "751269";

    #[test]
    fn replies_are_read_as_written() {
        let check = |text: &str| {
            let reply: EnrolReply = serde_json::from_str(text).unwrap();
            assert_eq!(serde_json::to_string(&reply).unwrap(), text);
        };
        check(r#"{"state":"waiting","code":"004217"}"#);
        check(r#"{"state":"refused","says":"used"}"#);
        check(
            r#"{"state":"in","person":{"id":"p-1","name":"Ines"},"org":"o","origin":"h/o/2026","log_key":"PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW","server_keys":[],"watches":["w-1"],"people":[]}"#,
        );
        for text in [r#"{"state":"gone"}"#, r#"{"state":"waiting"}"#, r#"{"state":"in"}"#, "[]"] {
            assert!(serde_json::from_str::<EnrolReply>(text).is_err(), "{text}");
        }
    }
}
