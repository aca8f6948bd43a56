//! What happens to the phone.

use crate::effect::Ticket;
use crate::moment::Moment;
use crate::pieces::{Parcel, ParcelFault};
use crate::stored::Stored;
use crate::tap::Tap;
use ledger::{Digest, PublicKey, Signature};
use record::{EmergencyStage, Fix, KeyKept};
use serde::{Deserialize, Serialize};

/// Something happened at a moment.
#[derive(Debug, Clone)]
pub struct Event {
    /// When.
    pub at: Moment,
    /// What.
    pub what: What,
}

/// What happened.
#[derive(Debug, Clone)]
pub enum What {
    /// Storage was read, at the start or after [`Effect::Load`](crate::Effect::Load).
    Loaded(Box<Stored>),
    /// Storage cannot be read at all.
    LoadFailed {
        /// What the browser said.
        says: String,
    },
    /// About a second went by with the screen on.
    Tick,
    /// The network came back, the screen was lit, or a timer fired.
    Woke,
    /// A person touched something.
    Did(Tap),
    /// The device has a key that was proven to work.
    KeyMade {
        /// Its public half.
        key: PublicKey,
        /// How the private half is kept.
        keep: KeyKept,
    },
    /// No key can be made or kept here.
    KeyFailed {
        /// What the browser said.
        says: String,
    },
    /// Signed as asked.
    Signed {
        /// Of the effect.
        ticket: Ticket,
        /// The signature.
        signature: Signature,
    },
    /// Could not sign.
    SignFailed {
        /// Of the effect.
        ticket: Ticket,
        /// What the browser said.
        says: String,
    },
    /// The transaction is on the disk.
    Saved {
        /// Of the effect.
        ticket: Ticket,
    },
    /// Nothing of the transaction was kept.
    SaveFailed {
        /// Of the effect.
        ticket: Ticket,
        /// Why.
        why: SaveFault,
    },
    /// A server answered.
    Answer {
        /// Of the effect.
        ticket: Ticket,
        /// The HTTP status.
        status: u16,
        /// The body.
        body: Vec<u8>,
    },
    /// Nobody answered.
    NoAnswer {
        /// Of the effect.
        ticket: Ticket,
    },
    /// Stamps were found that the card kept.
    Stamps(Vec<CardStamp>),
    /// A photo, sound or signature lies in the blob store.
    BlobKept {
        /// What it is for.
        purpose: Purpose,
        /// Its digest.
        blob: Digest,
        /// Its length, bytes.
        len: u64,
        /// Its type.
        mime: String,
    },
    /// A photo could not be read or kept.
    BlobFailed {
        /// What the browser said.
        says: String,
    },
    /// Where the phone is.
    Position(Fix),
    /// The position is not to be had.
    NoPosition,
    /// How full the battery is, per cent.
    Battery(u8),
    /// What the camera read from a code.
    Scanned(String),
    /// Lines were cut into codes: their texts.
    PiecesCut(Vec<String>),
    /// The codes of another phone were unpacked, or hold nothing.
    ParcelOpened(Result<Parcel, ParcelFault>),
    /// The picture of a page was read: JSON as in `docs/paper-sheet.md`, or it could not be.
    SheetRead {
        /// The picture.
        blob: Digest,
        /// What was read.
        json: Option<String>,
    },
    /// The camera is not to be had.
    NoCamera,
    /// What the browser says of our storage.
    Storage {
        /// Whether it is kept when space runs out.
        persisted: bool,
        /// Free space, KiB.
        free_kib: Option<u64>,
    },
    /// The browser can read NFC tags.
    ReadsTags,
    /// A new version waits.
    UpdateWaits,
    /// Another tab has the pen.
    OtherTab,
}

/// Why nothing was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SaveFault {
    /// The chain ends elsewhere: another tab wrote.
    Moved,
    /// No space left.
    Full,
    /// The browser's storage failed.
    Broken {
        /// What it said.
        says: String,
    },
}

/// What a blob is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A photo of the observation that is open on the screen.
    Photo,
    /// A photo of the permit that is being read.
    Permit,
    /// A photo of a page written by hand.
    Page,
    /// The signature under the shift.
    Signature,
}

/// One stamp of the card, as the static page kept it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardStamp {
    /// Its number in the card's own store.
    pub n: u64,
    /// What was stamped: a stage, or `real` for *This is real*.
    pub stage: CardStage,
    /// When, by the wall clock, ms.
    pub at: i64,
}

/// What the card can stamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CardStage {
    /// The card was opened.
    Opened,
    /// Seen.
    Seen,
    /// Called.
    Called,
    /// Alarm given.
    Alarmed,
    /// Everyone out.
    Out,
    /// Engine here.
    EngineHere,
    /// A drill turned into earnest.
    Real,
}

impl CardStage {
    /// The stage of an emergency, unless it is the word that ends a drill.
    pub fn emergency(self) -> Option<EmergencyStage> {
        Some(match self {
            CardStage::Opened => EmergencyStage::Opened,
            CardStage::Seen => EmergencyStage::Seen,
            CardStage::Called => EmergencyStage::Called,
            CardStage::Alarmed => EmergencyStage::Alarmed,
            CardStage::Out => EmergencyStage::Out,
            CardStage::EngineHere => EmergencyStage::EngineHere,
            CardStage::Real => return None,
        })
    }
}
