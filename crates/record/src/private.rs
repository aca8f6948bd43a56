//! What a private line holds: everything that a person typed, said or is named by.

use ledger::{CanonicalFault, Private, Salt};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Under which the names of a private line hold that of whoever states the line.
pub const WHO: &str = "who";

/// The content of a private line, the same for every kind.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Words {
    /// What was typed, one element per line of text.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// Names and numbers by what they are, for instance `guard`, `told`, `reach`, [`WHO`].
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub names: BTreeMap<String, String>,
    /// Where the device was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fix: Option<Fix>,
}

/// A position, its accuracy and its age.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fix {
    /// Latitude, degrees times 10^7 (WGS 84).
    pub lat_e7: i64,
    /// Longitude, degrees times 10^7 (WGS 84).
    pub lon_e7: i64,
    /// Radius of the device's own 68 % estimate, m.
    pub accuracy_m: u32,
    /// How old the fix was, ms.
    pub age_ms: u64,
}

impl Words {
    /// Whether there is anything to keep.
    pub fn is_empty(&self) -> bool {
        *self == Words::default()
    }

    /// Splits typed text into its lines and drops what a canonical line may not hold.
    pub fn from_text(text: &str) -> Words {
        Words { words: lines_of(text), ..Words::default() }
    }

    /// The words as one text.
    pub fn text(&self) -> String {
        self.words.join("\n")
    }

    /// Makes the private line; the caller draws the salt.
    pub fn seal(&self, salt: [u8; 16]) -> Result<Private, CanonicalFault> {
        let content = match serde_json::to_value(self) {
            Ok(serde_json::Value::Object(map)) => map,
            _ => unreachable!("a struct of serialisable fields"),
        };
        let private = Private { salt: Salt(salt), content };
        private.to_bytes()?;
        Ok(private)
    }

    /// Reads a private line. Content that this version does not know is left aside.
    pub fn open(private: &Private) -> Words {
        ledger::json::known_of(&private.content).unwrap_or_default()
    }
}

fn lines_of(text: &str) -> Vec<String> {
    text.lines()
        .map(|line| {
            let clean: String = line.chars().filter(|c| !c.is_control()).collect();
            ledger::canonical::nfc(&clean)
        })
        .filter(|line| !line.trim().is_empty())
        .collect()
}
