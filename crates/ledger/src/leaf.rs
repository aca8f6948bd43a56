//! The leaf: what the log says about one received line, and the last leaf, which names the next log.
//!
//! A leaf commits to the line's id, its signature and the time of receipt, but holds nothing of what
//! the line says, so it can be kept and shown when the line may not.

use crate::canonical::{self, Fault};
use crate::digest::{DeviceId, Digest, LineId};
use crate::head::Vkey;
use crate::ids::WatchId;
use crate::key::Signature;
use crate::line::{Line, VERSION};
use crate::merkle;
use crate::verified::Verified;
use serde::{Deserialize, Serialize};
use std::fmt::{self, Write};

/// One leaf of a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Leaf {
    /// A line was received.
    Entry(Entry),
    /// The log is closed: this is its last leaf.
    Close(Close),
}

/// The leaf of one line. Field names are those of `docs/spec/log.md` section 2.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The device that signed the line.
    pub dev: DeviceId,
    /// The line's id.
    pub e: LineId,
    /// The leaf's place in the log.
    pub i: u64,
    /// When the server received the line, ms UTC by its own clock; never less than in the leaf before.
    pub rx: i64,
    /// Half-width of the error of the server's clock, ms.
    pub rxe: i64,
    /// The line's place in its chain.
    pub seq: u64,
    /// The line's signature.
    pub sig: Signature,
    /// Always `entry`.
    pub t: EntryTag,
    /// Format version.
    pub v: u64,
    /// The line's watch.
    pub watch: WatchId,
}

/// The last leaf of a log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Close {
    /// The leaf's place in the log.
    pub i: u64,
    /// The origin of the log that goes on.
    pub next: String,
    /// When the log was closed, ms UTC by the server's clock.
    pub rx: i64,
    /// Half-width of the error of the server's clock, ms.
    pub rxe: i64,
    /// Always `close`.
    pub t: CloseTag,
    /// Format version.
    pub v: u64,
    /// The verifier key of the next log.
    pub vkey: Vkey,
}

/// The word `entry`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum EntryTag {
    /// The only word.
    #[serde(rename = "entry")]
    Entry,
}

/// The word `close`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum CloseTag {
    /// The only word.
    #[serde(rename = "close")]
    Close,
}

/// Why bytes are no leaf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LeafFault {
    /// Not canonical.
    Canonical(Fault),
    /// Canonical, but not the fields of a leaf.
    Shape {
        /// What is missing or wrong.
        says: String,
    },
    /// A format version that this program does not know.
    Version {
        /// The version found.
        found: u64,
    },
}

impl fmt::Display for LeafFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LeafFault::Canonical(fault) => fault.fmt(f),
            LeafFault::Shape { says } => write!(f, "not the fields of a leaf: {says}"),
            LeafFault::Version { found } => {
                write!(f, "format version {found}, this program knows {VERSION}: use a newer one")
            }
        }
    }
}

impl std::error::Error for LeafFault {}

impl Entry {
    /// The leaf for a line that was received and verified.
    pub fn of(line: &Verified<Line>, index: u64, rx: i64, rxe: i64) -> Entry {
        Entry {
            dev: line.dev,
            e: line.id(),
            i: index,
            rx,
            rxe,
            seq: line.seq,
            sig: line.signature(),
            t: EntryTag::Entry,
            v: VERSION,
            watch: line.watch.clone(),
        }
    }

    /// The canonical bytes, written straight away: a log makes one for every line, and nothing here
    /// (digests, base64, ids, integers) has a second spelling.
    fn to_bytes(&self) -> Vec<u8> {
        let Entry { dev, e, i, rx, rxe, seq, sig, t: EntryTag::Entry, v, watch } = self;
        let end = canonical::INTEGER_END;
        let exact = [*rx, *rxe].iter().all(|n| n.abs() < end)
            && [*i, *seq, *v].iter().all(|n| *n < end as u64);
        assert!(exact, "indexes and times stay below 2^53");
        let mut text = String::with_capacity(400);
        let written = write!(
            text,
            r#"{{"dev":"{dev}","e":"{e}","i":{i},"rx":{rx},"rxe":{rxe},"seq":{seq},"sig":"{sig}","t":"entry","v":{v},"watch":"{watch}"}}"#,
        );
        written.expect("writing to a string cannot fail");
        text.into_bytes()
    }

    /// Whether this is the leaf of that line: same id, device, watch, place and signature.
    pub fn seals(&self, line: &Verified<Line>) -> bool {
        *self == Entry::of(line, self.i, self.rx, self.rxe)
    }
}

impl Close {
    /// The last leaf of a log, at `index`.
    pub fn new(index: u64, rx: i64, rxe: i64, next: Vkey) -> Close {
        Close {
            i: index,
            next: next.name().to_owned(),
            rx,
            rxe,
            t: CloseTag::Close,
            v: VERSION,
            vkey: next,
        }
    }
}

impl Leaf {
    /// Reads canonical bytes.
    pub fn parse(bytes: &[u8]) -> Result<Leaf, LeafFault> {
        let value = canonical::parse(bytes).map_err(LeafFault::Canonical)?;
        if let Some(found) = value.get("v").and_then(|v| v.as_u64()).filter(|v| *v != VERSION) {
            return Err(LeafFault::Version { found });
        }
        let closes = value.get("t").and_then(|t| t.as_str()) == Some("close");
        let leaf = if closes {
            crate::json::of_value(&value).map(Leaf::Close)
        } else {
            crate::json::of_value(&value).map(Leaf::Entry)
        };
        let leaf = leaf.map_err(|error| LeafFault::Shape { says: error.to_string() })?;
        leaf.check_shape()?;
        Ok(leaf)
    }

    /// The bytes to hash and to keep, without a newline.
    pub fn to_bytes(&self) -> Vec<u8> {
        match self {
            Leaf::Entry(entry) => entry.to_bytes(),
            Leaf::Close(close) => canonical::to_bytes(close)
                .expect("digests, ids and times below 2^53 ms are canonical"),
        }
    }

    /// The hash under which the leaf stands in the tree.
    pub fn hash(&self) -> Digest {
        merkle::leaf_hash(&self.to_bytes())
    }

    /// Its place in the log.
    pub fn index(&self) -> u64 {
        match self {
            Leaf::Entry(entry) => entry.i,
            Leaf::Close(close) => close.i,
        }
    }

    /// The server's time and the half-width of its error, ms.
    pub fn received(&self) -> (i64, i64) {
        match self {
            Leaf::Entry(entry) => (entry.rx, entry.rxe),
            Leaf::Close(close) => (close.rx, close.rxe),
        }
    }

    fn check_shape(&self) -> Result<(), LeafFault> {
        let fault = |says: &str| Err(LeafFault::Shape { says: says.to_owned() });
        if self.received().1 < 0 {
            return fault("`rxe` is the half-width of an error and cannot be negative");
        }
        match self {
            Leaf::Close(close) if close.next != close.vkey.name() => {
                fault("`next` is not the name of the key in `vkey`")
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::head::LogKey;

    fn entry() -> Entry {
        Entry {
            dev: DeviceId::default(),
            e: LineId::default(),
            i: 7,
            rx: 1_700_000_000_000,
            rxe: 5,
            seq: 3,
            sig: Signature([9; 64]),
            t: EntryTag::Entry,
            v: VERSION,
            watch: WatchId::org(),
        }
    }

    #[test]
    fn leaves_are_read_as_written() {
        let next = LogKey::from_seed("gannet.example/quay/2027", [4; 32]).unwrap().vkey();
        let close = Close::new(8, 1_800_000_000_000, 5, next);
        for leaf in [Leaf::Entry(entry()), Leaf::Close(close)] {
            assert_eq!(Leaf::parse(&leaf.to_bytes()), Ok(leaf));
        }
    }

    #[test]
    fn an_entry_is_written_in_canonical_form() {
        let mut entry = entry();
        entry.rx = -1;
        for _ in 0..3 {
            let bytes = Leaf::Entry(entry.clone()).to_bytes();
            assert_eq!(bytes, canonical::to_bytes(&entry).unwrap());
            (entry.i, entry.seq, entry.rx) = (entry.i * 1_000_003, (1 << 53) - 1, 0);
            entry.watch = WatchId::new("a-z_0.9").unwrap();
        }
    }

    #[test]
    fn a_bad_leaf_is_named() {
        let text = String::from_utf8(Leaf::Entry(entry()).to_bytes()).unwrap();
        let check = |from: &str, to: &str, expected: &str| {
            let changed = text.replacen(from, to, 1);
            assert_ne!(changed, text);
            let says = Leaf::parse(changed.as_bytes()).unwrap_err().to_string();
            assert!(says.contains(expected), "{says}");
        };
        check("\"v\":1", "\"v\":2", "use a newer one");
        check("\"rxe\":5", "\"rxe\":-5", "cannot be negative");
        check("\"t\":\"entry\"", "\"t\":\"other\"", "not the fields of a leaf");
        check("\"seq\":3", "\"seq\":-3", "not the fields of a leaf");
        check("\"i\":7", "\"i\": 7", "canonical");
    }
}
