//! The only door to trusted lines: canonical, well formed, named by its key, signed by it.

use crate::canonical::{self, Fault};
use crate::digest::{DeviceId, Digest, LineId};
use crate::key::{PublicKey, Signature};
use crate::line::{Line, SignedLine, VERSION};
use std::fmt;
use std::ops::Deref;

/// Something whose signature was checked here. There is no other maker, so a function that asks for
/// a `Verified<Line>` cannot be given anything else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verified<T> {
    value: T,
    id: LineId,
    bytes: Vec<u8>,
    signature: Signature,
}

/// Why bytes are not a line that may be trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LineFault {
    /// Not canonical.
    Canonical(Fault),
    /// Canonical, but not the fields of a line.
    Shape {
        /// What is missing or wrong.
        says: String,
    },
    /// A format version that this program does not know.
    Version {
        /// The version found.
        found: u64,
    },
    /// `dev` is not the digest of the key it is checked with.
    OtherKey {
        /// The device named in the line.
        named: DeviceId,
    },
    /// The signature is not that key's over these bytes.
    Signature,
    /// At `seq` 0 `prev` must be zeros, and only there.
    Start,
}

impl fmt::Display for LineFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LineFault::Canonical(fault) => fault.fmt(f),
            LineFault::Shape { says } => write!(f, "not the fields of a line: {says}"),
            LineFault::Version { found } => {
                write!(f, "format version {found}, this program knows {VERSION}: use a newer one")
            }
            LineFault::OtherKey { named } => {
                write!(f, "the line names device {named}, which is not the key it was checked with")
            }
            LineFault::Signature => write!(f, "the signature does not fit the line"),
            LineFault::Start => {
                write!(f, "a chain starts at seq 0 with prev all zeros, and only there")
            }
        }
    }
}

impl std::error::Error for LineFault {}

impl Verified<Line> {
    /// Checks everything about a line that can be checked from the line and its key alone.
    /// Its place in the chain is for [`chain`](crate) to check, its kind for `record`.
    pub fn check(signed: SignedLine, key: &PublicKey) -> Result<Verified<Line>, LineFault> {
        let value = canonical::parse(&signed.bytes).map_err(LineFault::Canonical)?;
        if let Some(found) = value.get("v").and_then(|v| v.as_u64()).filter(|v| *v != VERSION) {
            return Err(LineFault::Version { found });
        }
        let line: Line = crate::json::of_value(&value)
            .map_err(|error| LineFault::Shape { says: error.to_string() })?;
        if line.dev != key.device() {
            return Err(LineFault::OtherKey { named: line.dev });
        }
        if (line.seq == 0) != (line.prev.0 == Digest::ZERO) {
            return Err(LineFault::Start);
        }
        if !key.verifies(&signed.bytes, &signed.signature) {
            return Err(LineFault::Signature);
        }
        let id = signed.id();
        Ok(Verified { value: line, id, bytes: signed.bytes, signature: signed.signature })
    }
}

impl<T> Verified<T> {
    /// The id of the signed bytes.
    pub fn id(&self) -> LineId {
        self.id
    }

    /// The bytes exactly as signed.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The signature that was checked.
    pub fn signature(&self) -> Signature {
        self.signature
    }

    /// The value, for whoever keeps what it says and not the proof of it.
    pub fn into_value(self) -> T {
        self.value
    }
}

impl<T> Deref for Verified<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Auth, Clk, DeviceKey, PersonId, WatchId};
    use serde_json::{Map, json};

    fn line(key: &DeviceKey) -> Line {
        let mut body = Map::new();
        body.insert("stop".into(), json!("stair-b-7"));
        Line {
            v: VERSION,
            kind: "seen".into(),
            dev: key.device(),
            watch: WatchId::new("w-1").unwrap(),
            seq: 0,
            prev: LineId::default(),
            who: PersonId::new("p-1").unwrap(),
            auth: Auth::Pin,
            clk: Clk { wall: 1, mono: 1, boot: "b".into(), off: None, err: None, age: None, tz: 0 },
            head: None,
            app: "test".into(),
            body,
            private: None,
        }
    }

    #[test]
    fn a_signed_line_is_trusted_and_a_changed_one_is_not() {
        let key = DeviceKey::from_seed([7; 32]);
        let signed = line(&key).sign(&key).unwrap();
        let verified = Verified::check(signed.clone(), &key.public()).unwrap();
        assert_eq!(verified.kind, "seen");
        for i in 0..signed.bytes.len() {
            let mut changed = signed.clone();
            changed.bytes[i] ^= 1;
            assert!(Verified::check(changed, &key.public()).is_err(), "byte {i}");
        }
    }

    #[test]
    fn another_key_is_named() {
        let (key, other) = (DeviceKey::from_seed([7; 32]), DeviceKey::from_seed([8; 32]));
        let signed = line(&key).sign(&key).unwrap();
        let fault = Verified::check(signed, &other.public()).unwrap_err();
        assert_eq!(fault, LineFault::OtherKey { named: key.device() });
    }
}
