//! Lines on their way in, and what became of each.

use ledger::{Line, LineId, Verified};
use std::ops::Range;
use std::sync::Arc;

/// A line that was verified, with its private line if it names one.
#[derive(Debug, Clone)]
pub struct Incoming {
    /// The line.
    pub line: Verified<Line>,
    /// The bytes of its private line.
    pub private: Option<Vec<u8>>,
}

/// When the server received something, by its own clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReceivedAt {
    /// ms since 1970-01-01 UTC.
    pub ms: i64,
    /// Half-width of the clock's error, ms.
    pub error_ms: i64,
}

/// Where a line stands in a log, and since when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Name of the log.
    pub origin: Arc<str>,
    /// Index of its leaf.
    pub index: u64,
    /// When it was received; never decreases with the index.
    pub rx: ReceivedAt,
}

/// What became of one line. Every outcome is kept: asking again gives the same answer, unless the
/// line has moved on in the meantime (held, then received).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// It is in the log now.
    Received(Place),
    /// It already was.
    Again(Place),
    /// It is kept until the lines before it come; these numbers are missing.
    Held {
        /// The missing numbers of its chain, in order.
        missing: Vec<Range<u64>>,
    },
    /// The device has signed two lines for one place of its chain, or a line that follows another
    /// one than ours. It is kept in quarantine; somebody must look.
    Forked {
        /// The line that holds the place (or the one it should have followed).
        with: LineId,
    },
    /// It cannot be taken; nothing of it was kept.
    Refused(Refusal),
}

/// Why a line cannot be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The line names a private line that did not come with it.
    #[error("the private line is missing: send it together with its line")]
    PrivateMissing,
    /// The private line is not the one the line names.
    #[error("the private line does not have the digest that the line names")]
    PrivateOther,
    /// The line names no private line, but one came.
    #[error("the line names no private line: do not send one")]
    PrivateUnasked,
    /// Too many lines of this chain already wait for the lines before them.
    #[error("too many lines of this chain are held: send the missing ones first")]
    HeldFull,
}

/// What became of a batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Appended {
    /// One outcome for each line, in the order of the batch.
    pub outcomes: Vec<Outcome>,
    /// Lines held from earlier batches that this one released into the log.
    pub released: Vec<Place>,
}

/// A line as it is kept. Whoever wants to trust it verifies it again with its key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredLine {
    /// Where it stands.
    pub place: Place,
    /// Its id.
    pub id: LineId,
    /// Its device.
    pub dev: ledger::DeviceId,
    /// Its watch.
    pub watch: ledger::WatchId,
    /// Its number in the chain.
    pub seq: u64,
    /// The bytes as signed, and the signature.
    pub signed: ledger::SignedLine,
}

/// A line in quarantine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quarantined {
    /// Its id.
    pub id: LineId,
    /// Its device.
    pub dev: ledger::DeviceId,
    /// Its watch.
    pub watch: ledger::WatchId,
    /// The number both lines claim.
    pub seq: u64,
    /// The line that holds the place.
    pub other: LineId,
    /// When it came, ms UTC by the server's clock.
    pub rx_ms: i64,
    /// The bytes as signed, and the signature.
    pub signed: ledger::SignedLine,
    /// Its private line.
    pub private: Option<Vec<u8>>,
}

/// The private line of a stored line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PrivateLine {
    /// There is none.
    Absent,
    /// There was one; it was erased.
    Erased,
    /// Its bytes.
    Here(Vec<u8>),
}
