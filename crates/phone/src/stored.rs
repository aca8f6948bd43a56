//! What the phone keeps, in the form it is kept in. Only optional fields are ever added, so a newer
//! program reads what an older one kept.

use crate::sync::{KnownKey, Member, Named};
use ledger::order::Map;
use ledger::{
    Digest, HeadRef, LineId, PersonId, PublicKey, Receipt, Signature, SignedLine, WatchId,
};
use record::KeyKept;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Everything that is kept, as it was read at the start.
#[derive(Debug, Clone, Default)]
pub struct Stored {
    /// The device's key, if one was made.
    pub device: Option<StoredDevice>,
    /// Small things by name, see [`Name`].
    pub notes: BTreeMap<String, String>,
    /// Lines, own and others'.
    pub lines: Vec<StoredLine>,
    /// Where the own chains end.
    pub tips: Vec<StoredTip>,
    /// What is known of the blobs.
    pub blobs: Vec<StoredBlob>,
    /// Contents of the blobs that are documents.
    pub documents: Vec<Vec<u8>>,
}

/// The public side of the device's key; the private side never leaves the edge.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredDevice {
    /// The key.
    pub key: PublicKey,
    /// How its private half is kept.
    pub keep: KeyKept,
}

/// A line with all that is known of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredLine {
    /// Its id, which is the key it is kept under.
    pub id: LineId,
    /// The canonical bytes.
    pub line: String,
    /// The signature over them.
    pub sig: Signature,
    /// The private line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub private: Option<String>,
    /// Leaf and `tlog-proof`, once the log has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receipt: Option<String>,
    /// The leaf alone, for a line that came down with a proof already checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leaf: Option<String>,
    /// Why the server put it aside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aside: Option<String>,
}

impl StoredLine {
    /// The bytes with their signature.
    pub fn signed(&self) -> SignedLine {
        SignedLine { bytes: self.line.clone().into_bytes(), signature: self.sig }
    }

    /// The head that its receipt leads to; none for a line that came down, whose proof was checked and
    /// not kept.
    pub fn receipt_head(&self) -> Option<HeadRef> {
        let receipt = Receipt::parse(self.receipt.as_ref()?).ok()?;
        Some(receipt.proof.head.claimed().quoted())
    }

    /// Where the log has it.
    pub fn sealed_in(&self) -> Option<ledger::leaf::Entry> {
        let leaf = match (&self.receipt, &self.leaf) {
            (Some(receipt), _) => Receipt::parse(receipt).ok()?.leaf,
            (None, Some(leaf)) => ledger::Leaf::parse(leaf.as_bytes()).ok()?,
            (None, None) => return None,
        };
        match leaf {
            ledger::Leaf::Entry(entry) => Some(entry),
            ledger::Leaf::Close(_) => None,
        }
    }
}

/// Where one of the own chains ends.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredTip {
    /// The device whose chain it is.
    pub dev: ledger::DeviceId,
    /// The watch.
    pub watch: WatchId,
    /// How many lines it has.
    pub count: u64,
    /// The last of them.
    pub last: LineId,
}

/// What is known of a blob.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredBlob {
    /// Its digest, which is the key it is kept under.
    pub blob: Digest,
    /// Its length, bytes.
    pub len: u64,
    /// Its type.
    pub mime: String,
    /// Whether the server has it.
    pub sent: bool,
}

/// One thing to keep. The edge does not look inside.
#[derive(Debug, Clone, PartialEq)]
pub enum Put {
    /// A line, over what was kept of it before.
    Line(Box<StoredLine>),
    /// The end of a chain.
    Tip(StoredTip),
    /// A small thing by name.
    Note {
        /// Its name.
        name: Name,
        /// JSON; none forgets it.
        json: Option<String>,
    },
    /// What is known of a blob whose content lies there already.
    Blob(StoredBlob),
    /// A document with its content.
    Document {
        /// Its digest.
        blob: Digest,
        /// Its content.
        bytes: Vec<u8>,
    },
    /// Forget a blob that no line names.
    ForgetBlob(Digest),
    /// Forget a line: only after a receipt and a later head.
    ForgetLine(LineId),
}

/// The small things.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Name {
    /// [`Member`].
    Member,
    /// [`Enrolling`].
    Enrolling,
    /// [`LogNote`].
    Log,
    /// [`Choices`].
    Choices,
    /// [`Draft`](crate::draft::Draft).
    Draft,
    /// The PINs of a shared phone, salted and hashed.
    Pins,
}

impl Name {
    /// All of them.
    pub const ALL: [Name; 6] =
        [Name::Member, Name::Enrolling, Name::Log, Name::Choices, Name::Draft, Name::Pins];

    /// The name it is kept under.
    pub fn key(self) -> &'static str {
        match self {
            Name::Member => "member",
            Name::Enrolling => "enrolling",
            Name::Log => "log",
            Name::Choices => "choices",
            Name::Draft => "draft",
            Name::Pins => "pins",
        }
    }
}

/// An enrolment under way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Enrolling {
    /// The token of the link.
    pub token: String,
}

/// What is known of the log.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogNote {
    /// The newest head verified.
    #[serde(default)]
    pub head: Option<HeadRef>,
    /// Up to which size each watch is held.
    #[serde(default)]
    pub from: Map<WatchId, u64>,
    /// The log that each of those counts in; absent: the one of the head.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    pub from_log: Map<WatchId, String>,
    /// Keys of other devices.
    #[serde(default)]
    pub keys: Vec<KnownKey>,
    /// Keys of devices whose lines this phone has taken along: each key names its device.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub carried: Vec<PublicKey>,
    /// Watches this person may see.
    #[serde(default)]
    pub watches: Vec<WatchId>,
    /// Who may take over on this phone.
    #[serde(default)]
    pub people: Vec<Named>,
    /// The last stamp of the card that became a line.
    #[serde(default)]
    pub stamps: u64,
}

/// What the person chose on this phone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choices {
    /// Language, by tag; the browser's own if none was chosen.
    #[serde(default)]
    pub language: Option<String>,
    /// Theme.
    #[serde(default)]
    pub theme: Theme,
    /// The watch on the screen.
    #[serde(default)]
    pub watch: Option<WatchId>,
    /// Whoever holds the phone now, if not its own person.
    #[serde(default)]
    pub person: Option<Named>,
    /// Whoever typed the right PIN last: lines of that person say so.
    #[serde(default)]
    pub by_pin: Option<PersonId>,
    /// Nobody wants to hear a sound.
    #[serde(default)]
    pub silent: bool,
    /// This site has no tags: confirm by hand without being asked.
    #[serde(default)]
    pub no_tags: bool,
    /// Positions are wanted.
    #[serde(default)]
    pub position: bool,
}

impl Default for Choices {
    fn default() -> Choices {
        Choices {
            language: None,
            theme: Theme::Device,
            watch: None,
            person: None,
            by_pin: None,
            silent: false,
            no_tags: false,
            position: false,
        }
    }
}

/// Light or dark.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Theme {
    /// As the device says.
    #[default]
    Device,
    /// Dark.
    Night,
    /// Light.
    Day,
}

/// Reads a small thing; what cannot be read counts as absent.
pub(crate) fn read<T: for<'de> Deserialize<'de>>(stored: &Stored, name: Name) -> Option<T> {
    ledger::json::parse(stored.notes.get(name.key())?).ok()
}

/// Makes the put for a small thing.
pub(crate) fn note<T: Serialize>(name: Name, value: &T) -> Put {
    let json = serde_json::to_string(value).expect("notes hold text, numbers and lists");
    Put::Note { name, json: Some(json) }
}

/// The membership as it is kept.
pub(crate) fn member(stored: &Stored) -> Option<Member> {
    read(stored, Name::Member)
}
