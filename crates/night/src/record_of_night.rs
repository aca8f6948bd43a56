//! What a night comes to: signed lines, private lines, leaves, heads, keys, blobs.

use ledger::merkle::Tree;
use ledger::{Digest, Leaf, Line, LogKey, Private, PublicKey, SignedLine, Verified, WatchId};
use record::Words;
use std::collections::BTreeMap;

/// The record that a night tells.
#[derive(Debug)]
pub struct Record {
    /// The watch.
    pub watch: WatchId,
    /// Its lines, in the order in which they were received.
    pub lines: Vec<NightLine>,
    /// Lines of the organisation's chains: enrolments and ticks.
    pub org_lines: Vec<SignedLine>,
    /// The public key of every device, the server's first.
    pub keys: Vec<PublicKey>,
    /// The log's key.
    pub log_key: LogKey,
    /// Every leaf, by index.
    pub leaves: Vec<Leaf>,
    /// The same as hashes.
    pub tree: Tree,
    /// Every blob that a line names.
    pub blobs: BTreeMap<Digest, Vec<u8>>,
    /// The terms with their sources.
    pub terms: record::documents::Terms,
    /// The instant of the last thing that happened, a phone's return to signal included, ms UTC.
    pub end_ms: i64,
    /// Local time minus UTC at the beginning, minutes.
    pub tz_min: i64,
    /// Line ids by the line of the text that told them.
    pub told: BTreeMap<usize, Vec<ledger::LineId>>,
}

/// One line of the watch and its seal.
#[derive(Debug, Clone)]
pub struct NightLine {
    /// The line.
    pub line: Verified<Line>,
    /// Its private line.
    pub private: Option<Private>,
    /// The words in it.
    pub words: Option<Words>,
    /// The leaf's index.
    pub index: u64,
    /// When the server received it, ms UTC.
    pub rx_ms: i64,
    /// Half-width of the server's error, ms.
    pub rxe_ms: i64,
    /// Receipt of the last leaf under the head that the line quotes, ms UTC.
    pub not_before_ms: Option<i64>,
}
