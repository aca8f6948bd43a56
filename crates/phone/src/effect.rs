//! What the phone asks the browser to do. Each effect that can end is answered by one event that
//! carries the same ticket; an answer that never comes or comes twice does no harm.

use crate::card::CardRecord;
use crate::sheets::SheetOf;
use crate::stored::Put;
use crate::sync::SentLine;
use ledger::{Digest, LineId, PublicKey, WatchId};
use words::Lang;

/// Names one effect until its answer has come.
pub type Ticket = u64;

/// One thing to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Make the device's key, keep it, open it again, sign with it and verify; say which way held.
    MakeKey,
    /// Sign bytes with the device's key.
    Sign {
        /// For the answer.
        ticket: Ticket,
        /// What to sign.
        bytes: Vec<u8>,
    },
    /// Keep everything in one strict transaction, or nothing of it.
    Save {
        /// For the answer.
        ticket: Ticket,
        /// Only if this chain still ends here.
        guard: Option<Guard>,
        /// What to keep.
        puts: Vec<Put>,
    },
    /// Read everything again: another tab has written.
    Load,
    /// Send one request, with its note signed into the headers.
    Send {
        /// For the answer.
        ticket: Ticket,
        /// `GET`, `POST` or `PUT`.
        method: Method,
        /// Without host.
        path: String,
        /// What goes with it.
        body: Body,
        /// The text for the device header, to be signed.
        note: String,
    },
    /// Mirror the card to where the static page finds it.
    MirrorCard(Box<CardRecord>),
    /// Open the static card.
    OpenCard,
    /// Forget the card's stamps up to this number: they are lines now.
    ForgetStamps {
        /// The last one.
        upto: u64,
    },
    /// Remind the guard once.
    Remind(Reminder),
    /// Ask for the position, now and at later stops.
    WatchPosition,
    /// Read the next NFC tag that is held to the phone, as if its text had been scanned.
    ReadTag,
    /// Ask the browser to keep our storage when space runs out.
    PersistStorage,
    /// Run the waiting new version.
    TakeUpdate,
    /// Cut lines into codes for another phone ([`cut`](crate::cut)).
    CutPieces {
        /// The device's key, by which they verify.
        key: PublicKey,
        /// The lines.
        lines: Vec<SentLine>,
    },
    /// Unpack what the codes of another phone held together ([`Parcel::open`](crate::Parcel::open)).
    OpenParcel {
        /// The bytes.
        packed: Vec<u8>,
    },
    /// Read the picture of a page as a sheet of a watch.
    ReadSheet {
        /// The picture, which lies in the blob store.
        blob: Digest,
        /// The watch.
        of: SheetOf,
        /// The language of what does not fit.
        lang: Lang,
    },
    /// Hand the named lines to the person as a file.
    OfferFile {
        /// Name of the file.
        name: String,
        /// What is in it.
        content: String,
    },
    /// Hand a photo or signature to the person as a file.
    OfferPicture {
        /// Which.
        blob: Digest,
        /// Its type.
        mime: String,
        /// What the file is called.
        name: String,
    },
}

/// Where a chain must end for a transaction to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Guard {
    /// The device whose chain it is.
    pub dev: ledger::DeviceId,
    /// The watch.
    pub watch: WatchId,
    /// How many lines it has.
    pub count: u64,
    /// The last of them.
    pub last: LineId,
}

/// How a request asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// To read.
    Get,
    /// To say something.
    Post,
    /// To hand over a blob.
    Put,
}

/// What goes with a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// Nothing.
    Empty,
    /// Text.
    Text(String),
    /// A blob from storage.
    Blob(Digest),
}

/// How to remind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reminder {
    /// By buzzing alone.
    Silent,
    /// By a sound too.
    Aloud,
}
