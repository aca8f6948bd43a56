//! The file by which lines leave a phone that cannot send them: what waits, one [`StoredLine`] of JSON a row, in any
//! order. Nothing in it is more secret than what the phone would send; nothing in it needs to be trusted, since every
//! line bears its signature.

use crate::stored::StoredLine;
use crate::sync::SentLine;

/// What the file is called.
pub const NAME: &str = "rattlewatch-waiting.jsonl";

/// Writes the file.
pub fn write<'a>(lines: impl IntoIterator<Item = &'a StoredLine>) -> String {
    let row = |stored| serde_json::to_string(stored).expect("a stored line holds text") + "\n";
    lines.into_iter().map(row).collect()
}

/// A row of such a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Which one, from 1 on.
    pub number: usize,
    /// Its line, unchecked; none: no line of a phone stands there.
    pub sent: Option<SentLine>,
}

/// Reads a file; empty rows are left out.
pub fn read(text: &str) -> Vec<Row> {
    let rows = text.lines().enumerate().filter(|(_, row)| !row.trim().is_empty());
    rows.map(|(i, row)| Row { number: i + 1, sent: ledger::json::parse(row).ok().map(sent) })
        .collect()
}

fn sent(stored: StoredLine) -> SentLine {
    SentLine { line: stored.line, sig: stored.sig, private: stored.private }
}
