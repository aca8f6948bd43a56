//! A line as the phone holds it.

use crate::stored::StoredLine;
use ledger::leaf::Entry as EntryLeaf;
use ledger::{Line, LineFault, Private, PublicKey, Verified};
use record::Words;
use watch::{Held, Sealing};

/// A verified line with what is known of its way into the log.
#[derive(Debug, Clone)]
pub(crate) struct Kept {
    /// The line.
    pub line: Verified<Line>,
    /// Its private line.
    pub private: Option<Private>,
    /// Where the log has it.
    pub leaf: Option<EntryLeaf>,
    /// In the form it is kept in.
    pub stored: StoredLine,
}

impl Kept {
    /// Checks a stored line again: storage is not trusted either.
    pub(crate) fn read(stored: StoredLine, key: &PublicKey) -> Result<Kept, LineFault> {
        let line = Verified::check(stored.signed(), key)?;
        let private = stored
            .private
            .as_ref()
            .filter(|text| line.private == Some(ledger::Digest::of(text.as_bytes())))
            .and_then(|text| Private::parse(text.as_bytes()).ok());
        let leaf = stored.sealed_in().filter(|leaf| leaf.seals(&line));
        Ok(Kept { line, private, leaf, stored })
    }

    /// Whether the log has it.
    pub(crate) fn is_sent(&self) -> bool {
        self.leaf.is_some()
    }

    /// Whether the server put it aside.
    pub(crate) fn is_aside(&self) -> bool {
        self.stored.aside.is_some()
    }

    /// As the fold takes it.
    pub(crate) fn held(&self) -> Held {
        Held {
            line: self.line.clone(),
            sealing: self.sealing(),
            words: self.private.as_ref().map(Words::open),
        }
    }

    /// As the fold takes the seal. The phone does not hold the leaf under the quoted head, so it
    /// claims no earliest time.
    pub(crate) fn sealing(&self) -> Option<Sealing> {
        let leaf = self.leaf.as_ref()?;
        Some(Sealing { index: leaf.i, rx_ms: leaf.rx, rxe_ms: leaf.rxe, not_before_ms: None })
    }
}
