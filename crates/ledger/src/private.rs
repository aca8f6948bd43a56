//! The private line: words, names and positions, kept beside their line so that they can be erased
//! alone. Its digest stands in the line; the salt keeps short contents from being guessed.

use crate::canonical::{self, Fault};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde::de::{Error, Unexpected};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value};

/// Sixteen random bytes, drawn by the caller, written as base64.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Salt(pub [u8; 16]);

impl Serialize for Salt {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&STANDARD.encode(self.0))
    }
}

impl<'de> Deserialize<'de> for Salt {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Salt, D::Error> {
        let text = String::deserialize(deserializer)?;
        let bytes = STANDARD.decode(text).map_err(D::Error::custom)?;
        bytes.try_into().map(Salt).map_err(|_| D::Error::custom("expected 16 bytes"))
    }
}

/// A private line: the salt and whatever the kind wants kept erasable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Private {
    /// Makes the digest say nothing about the content.
    pub salt: Salt,
    /// The content; `record` gives it its types.
    #[serde(flatten)]
    pub content: Map<String, Value>,
}

impl Private {
    /// The bytes to keep and to hash.
    pub fn to_bytes(&self) -> Result<Vec<u8>, Fault> {
        canonical::to_bytes(self)
    }

    /// Reads canonical bytes.
    pub fn parse(bytes: &[u8]) -> Result<Private, Fault> {
        let value = canonical::parse(bytes)?;
        private(value).map_err(|error| Fault::NotJson { says: error.to_string() })
    }
}
/// Read by hand: a derived reader keeps every member in a form of its own first, and so brings a second reader of
/// JSON into what every phone fetches.
fn private(value: Value) -> Result<Private, serde_json::Error> {
    let Value::Object(mut content) = value else {
        return Err(Error::invalid_type(Unexpected::Other("no object"), &"a private line"));
    };
    let salt = content.remove("salt").ok_or_else(|| Error::missing_field("salt"))?;
    Ok(Private { salt: crate::json::of_value(&salt)?, content })
}
