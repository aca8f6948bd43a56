//! The release: who ended the watch.

use crate::fold::Item;
use crate::time::Written;
use ledger::Digest;
use record::{ReleasedBy, WatchReleased};
use serde::Serialize;

/// The watch is over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Release {
    /// The line.
    pub written: Written,
    /// Who ended it.
    pub by: ReleasedBy,
    /// From when, ms UTC.
    pub at_ms: i64,
    /// Whether it is in writing.
    pub in_writing: bool,
    /// A picture or file of it.
    pub blob: Option<Digest>,
}

impl Release {
    pub(crate) fn of(item: &Item<'_>, body: &WatchReleased) -> Release {
        Release {
            written: item.written.clone(),
            by: body.by,
            at_ms: item.at_ms(),
            in_writing: body.written,
            blob: body.blob,
        }
    }
}
