//! Reads everything again and compares it with what was promised. Whoever judges is not whoever
//! acts: the roots here are computed from the lines alone, without the kept hashes.

use crate::backend::{LogRow, Select};
use crate::error::StoreError;
use crate::leaves::leaf_of;
use crate::store::Store;
use crate::tree::TILE;
use ledger::merkle::{Edge, leaf_hash};
use ledger::{Digest, LineId};
use std::fmt;
use std::sync::Arc;

/// Lines read at a time.
const PAGE: u32 = 1_024;

/// What a scrub found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Scrubbed {
    /// Lines read.
    pub lines: u64,
    /// Blobs read.
    pub blobs: u64,
    /// What does not hold; empty if all is well.
    pub faults: Vec<ScrubFault>,
}

/// One thing that does not hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ScrubFault {
    /// The database says that its own files are damaged.
    Database {
        /// What it said.
        says: String,
    },
    /// A line is missing from its log.
    LineMissing {
        /// The log.
        origin: Arc<str>,
        /// Its index.
        index: u64,
    },
    /// A line's bytes do not have its id.
    LineChanged {
        /// The log.
        origin: Arc<str>,
        /// Its index.
        index: u64,
    },
    /// The time of receipt is before that of the leaf before.
    TimeBackwards {
        /// The log.
        origin: Arc<str>,
        /// Its index.
        index: u64,
    },
    /// A kept hash is not that of its leaves.
    HashChanged {
        /// The log.
        origin: Arc<str>,
        /// First leaf of the row.
        index: u64,
    },
    /// The leaves do not have the committed root.
    Root {
        /// The log.
        origin: Arc<str>,
        /// The log's size.
        size: u64,
    },
    /// A private line is not the one its line names.
    PrivateChanged {
        /// The log.
        origin: Arc<str>,
        /// Its index.
        index: u64,
    },
    /// A line names a private line that is neither here nor erased.
    PrivateMissing {
        /// The log.
        origin: Arc<str>,
        /// Its index.
        index: u64,
    },
    /// A blob cannot be read or has other bytes than its name.
    Blob {
        /// Its name.
        named: Digest,
        /// What was found.
        says: String,
    },
}

impl fmt::Display for ScrubFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ScrubFault::Database { says } => write!(f, "the database says: {says}"),
            ScrubFault::LineMissing { origin, index } => {
                write!(f, "log {origin}: line {index} is missing")
            }
            ScrubFault::LineChanged { origin, index } => {
                write!(f, "log {origin}: the bytes of line {index} do not have its id")
            }
            ScrubFault::TimeBackwards { origin, index } => {
                write!(f, "log {origin}: line {index} was received before the one before it")
            }
            ScrubFault::HashChanged { origin, index } => {
                write!(
                    f,
                    "log {origin}: the hashes kept from leaf {index} on are not those of the lines"
                )
            }
            ScrubFault::Root { origin, size } => {
                write!(f, "log {origin}: its {size} leaves do not have the committed root")
            }
            ScrubFault::PrivateChanged { origin, index } => {
                write!(f, "log {origin}: the private line of line {index} is not the one it names")
            }
            ScrubFault::PrivateMissing { origin, index } => {
                write!(
                    f,
                    "log {origin}: the private line of line {index} is missing and was not erased"
                )
            }
            ScrubFault::Blob { named, says } => write!(f, "blob {named}: {says}"),
        }
    }
}

impl Store {
    /// Reads every line, private line, kept hash and blob again. Slow on purpose: run it at night.
    /// Findings are values; an error means that reading itself failed.
    pub async fn scrub(&self) -> Result<Scrubbed, StoreError> {
        let mut scrubbed = Scrubbed::default();
        let says = self.backend().self_check().await?;
        scrubbed.faults.extend(says.into_iter().map(|says| ScrubFault::Database { says }));
        for log in self.backend().logs().await? {
            self.scrub_log(&log, &mut scrubbed).await?;
        }
        for named in self.blobs().list().await? {
            scrubbed.blobs += 1;
            let says = match self.blobs().get(named).await {
                Ok(Some(_)) => continue,
                Ok(None) => "it was listed but is not there".to_owned(),
                Err(error) => error.to_string(),
            };
            scrubbed.faults.push(ScrubFault::Blob { named, says });
        }
        Ok(scrubbed)
    }

    async fn scrub_log(&self, log: &LogRow, scrubbed: &mut Scrubbed) -> Result<(), StoreError> {
        let lines_end = log.size - u64::from(log.closing.is_some());
        let origin = &log.origin;
        let (mut edge, mut row) = (Edge::new(), Vec::new());
        let mut rx_ms = i64::MIN;
        let mut next = 0;
        while next < lines_end {
            let select = Select::Range { log: log.log, indexes: next..lines_end };
            let lines = self.backend().lines(&select, PAGE).await?;
            let Some(first) = lines.first() else { break };
            if first.place.index != next {
                scrubbed
                    .faults
                    .push(ScrubFault::LineMissing { origin: origin.clone(), index: next });
                return Ok(());
            }
            for line in &lines {
                let index = line.place.index;
                if index != next {
                    break;
                }
                let origin = origin.clone();
                if LineId(Digest::of(&line.signed.bytes)) != line.id {
                    scrubbed.faults.push(ScrubFault::LineChanged { origin: origin.clone(), index });
                }
                if line.place.rx.ms < rx_ms {
                    scrubbed
                        .faults
                        .push(ScrubFault::TimeBackwards { origin: origin.clone(), index });
                }
                rx_ms = line.place.rx.ms;
                if let Some(named) = private_of(&line.signed.bytes) {
                    self.scrub_private(log, index, named, scrubbed).await?;
                }
                let hash = leaf_of(line).hash();
                edge.push(hash);
                row.push(hash);
                if row.len() as u64 == TILE {
                    self.scrub_row(log, index / TILE, &row, scrubbed).await?;
                    row.clear();
                }
                next += 1;
                scrubbed.lines += 1;
            }
        }
        if next < lines_end {
            scrubbed.faults.push(ScrubFault::LineMissing { origin: origin.clone(), index: next });
            return Ok(());
        }
        if let Some(closing) = &log.closing {
            edge.push(leaf_hash(closing));
        }
        if edge.root() != log.root {
            scrubbed.faults.push(ScrubFault::Root { origin: origin.clone(), size: log.size });
        }
        Ok(())
    }

    async fn scrub_row(
        &self,
        log: &LogRow,
        tile: u64,
        row: &[Digest],
        scrubbed: &mut Scrubbed,
    ) -> Result<(), StoreError> {
        let kept = self.backend().tile(log.log, 0, tile).await;
        if !matches!(kept, Ok(Some(kept)) if kept == row) {
            let (origin, index) = (log.origin.clone(), tile * TILE);
            scrubbed.faults.push(ScrubFault::HashChanged { origin, index });
        }
        Ok(())
    }

    async fn scrub_private(
        &self,
        log: &LogRow,
        index: u64,
        named: Digest,
        scrubbed: &mut Scrubbed,
    ) -> Result<(), StoreError> {
        let origin = log.origin.clone();
        match self.backend().private(log.log, index).await? {
            Some(None) => {}
            Some(Some(bytes)) if Digest::of(&bytes) == named => {}
            Some(Some(_)) => scrubbed.faults.push(ScrubFault::PrivateChanged { origin, index }),
            None => scrubbed.faults.push(ScrubFault::PrivateMissing { origin, index }),
        }
        Ok(())
    }
}

/// The digest of the private line that a line names.
fn private_of(bytes: &[u8]) -> Option<Digest> {
    #[derive(serde::Deserialize)]
    struct Names {
        #[serde(rename = "priv")]
        private: Option<Digest>,
    }
    serde_json::from_slice::<Names>(bytes).ok()?.private
}
