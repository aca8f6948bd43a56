//! What goes into a watch: a verified line, its seal once there is one, its private words if not erased.

use ledger::{Line, Verified};
use record::Words;

/// One line as this program holds it.
#[derive(Debug, Clone)]
pub struct Held {
    /// The line; only the verifier makes these.
    pub line: Verified<Line>,
    /// Where the log sealed it, if it did.
    pub sealing: Option<Sealing>,
    /// Its private line, if held.
    pub words: Option<Words>,
}

/// Where and when the log took a line in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sealing {
    /// The leaf's index.
    pub index: u64,
    /// When the server received it, ms UTC.
    pub rx_ms: i64,
    /// Half-width of the server's error, ms.
    pub rxe_ms: i64,
    /// The line is not older than this, ms UTC: receipt of the last leaf under the head it quotes.
    pub not_before_ms: Option<i64>,
}
