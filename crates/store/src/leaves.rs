//! Leaves, made again from the lines they seal, and the proofs built on their hashes.

use crate::backend::{Backend, LogRow, Select};
use crate::error::StoreError;
use crate::outcome::StoredLine;
use crate::tree::{TILE, TILE_LEVELS};
use ledger::Digest;
use ledger::leaf::{Entry, EntryTag, Leaf};
use ledger::merkle::{Edge, leaf_hash};
use std::collections::BTreeMap;
use std::ops::Range;

/// Lines read at a time.
const PAGE: u32 = 1_024;

/// The leaf of a stored line.
pub fn leaf_of(line: &StoredLine) -> Leaf {
    entry(
        line.dev,
        line.id,
        line.place.index,
        (line.place.rx.ms, line.place.rx.error_ms),
        line.seq,
        line.signed.signature,
        line.watch.clone(),
    )
}

pub(crate) fn entry(
    dev: ledger::DeviceId,
    id: ledger::LineId,
    index: u64,
    (rx, rxe): (i64, i64),
    seq: u64,
    sig: ledger::Signature,
    watch: ledger::WatchId,
) -> Leaf {
    Leaf::Entry(Entry {
        dev,
        e: id,
        i: index,
        rx,
        rxe,
        seq,
        sig,
        t: EntryTag::Entry,
        v: ledger::line::VERSION,
        watch,
    })
}

/// The leaf hashes of a range, from the lines themselves.
pub(crate) async fn hashes(
    backend: &dyn Backend,
    log: &LogRow,
    range: Range<u64>,
) -> Result<Vec<Digest>, StoreError> {
    let mut hashes = Vec::with_capacity((range.end - range.start) as usize);
    let mut next = range.start;
    while next < range.end {
        if let Some(closing) = log.closing.as_ref().filter(|_| next + 1 == log.size) {
            hashes.push(leaf_hash(closing));
            break;
        }
        let select = Select::Range { log: log.log, indexes: next..range.end };
        let lines = backend.lines(&select, PAGE).await?;
        if lines.is_empty() {
            return Err(missing(log, next));
        }
        for line in &lines {
            if line.place.index != next {
                return Err(missing(log, next));
            }
            hashes.push(leaf_of(line).hash());
            next += 1;
        }
    }
    Ok(hashes)
}

fn missing(log: &LogRow, index: u64) -> StoreError {
    StoreError::damaged(format!("log {}: line {index} of {} is missing", log.origin, log.size))
}

/// Reads nodes of one log's tree, each row of hashes at most once.
pub(crate) struct Nodes<'a> {
    backend: &'a dyn Backend,
    log: &'a LogRow,
    rows: BTreeMap<(u8, u64), Vec<Digest>>,
}

impl<'a> Nodes<'a> {
    pub(crate) fn new(backend: &'a dyn Backend, log: &'a LogRow) -> Nodes<'a> {
        Nodes { backend, log, rows: BTreeMap::new() }
    }

    /// The root over the first `size` leaves.
    pub(crate) async fn root(&mut self, size: u64) -> Result<Digest, StoreError> {
        self.node(0..size).await
    }

    /// The inclusion proof of leaf `index` in the tree of `size` leaves (RFC 6962 section 2.1.1).
    pub(crate) async fn inclusion(
        &mut self,
        index: u64,
        size: u64,
    ) -> Result<Vec<Digest>, StoreError> {
        self.path(inclusion_ranges(index, size)).await
    }

    /// The consistency proof between two sizes (RFC 6962 section 2.1.2).
    pub(crate) async fn consistency(
        &mut self,
        old: u64,
        new: u64,
    ) -> Result<Vec<Digest>, StoreError> {
        self.path(consistency_ranges(old, new)).await
    }

    async fn path(&mut self, ranges: Vec<Range<u64>>) -> Result<Vec<Digest>, StoreError> {
        let mut path = Vec::with_capacity(ranges.len());
        for range in ranges {
            path.push(self.node(range).await?);
        }
        Ok(path)
    }

    /// The node over a range as it occurs in a tree: full nodes from large to small.
    async fn node(&mut self, range: Range<u64>) -> Result<Digest, StoreError> {
        let mut edge = Edge::new();
        let mut at = range.start;
        while at < range.end {
            let left = range.end - at;
            let level = (u64::BITS - 1 - left.leading_zeros()).min(at.trailing_zeros());
            let node = self.full(level, at >> level).await?;
            edge.push_node(level, node)
                .expect("ranges of a tree begin at multiples of their nodes");
            at += 1 << level;
        }
        Ok(edge.root())
    }

    /// The full node `index` over `1 << level` leaves.
    async fn full(&mut self, level: u32, index: u64) -> Result<Digest, StoreError> {
        let (row_level, inner) = (level / TILE_LEVELS, level % TILE_LEVELS);
        let first = index << inner;
        let tile = first / TILE;
        let hashes = self.row(row_level as u8, tile).await?;
        let from = (first % TILE) as usize;
        let wanted = hashes.get(from..from + (1 << inner));
        let wanted = wanted.ok_or_else(|| {
            StoreError::damaged(format!("hash row {tile} of level {row_level} is too short"))
        })?;
        Ok(crate::tree::root_of(wanted))
    }

    /// The rows read so far.
    pub(crate) fn into_rows(self) -> BTreeMap<(u8, u64), Vec<Digest>> {
        self.rows
    }

    pub(crate) async fn row(&mut self, level: u8, tile: u64) -> Result<&[Digest], StoreError> {
        if !self.rows.contains_key(&(level, tile)) {
            let hashes = self.load(level, tile).await?;
            self.rows.insert((level, tile), hashes);
        }
        Ok(&self.rows[&(level, tile)])
    }

    async fn load(&self, level: u8, tile: u64) -> Result<Vec<Digest>, StoreError> {
        if level == 0 && tile == self.log.size / TILE {
            return hashes(self.backend, self.log, tile * TILE..self.log.size).await;
        }
        let row = self.backend.tile(self.log.log, level, tile).await?;
        row.ok_or_else(|| {
            StoreError::damaged(format!(
                "log {}: hash row {tile} of level {level} is missing",
                self.log.origin
            ))
        })
    }
}

/// Where a tree of `size` > 1 leaves is split: the largest power of two below `size`.
fn split(size: u64) -> u64 {
    1 << (u64::BITS - 1 - (size - 1).leading_zeros())
}

fn inclusion_ranges(index: u64, size: u64) -> Vec<Range<u64>> {
    let mut ranges = Vec::new();
    let (mut start, mut end) = (0, size);
    while end - start > 1 {
        let middle = start + split(end - start);
        if index < middle {
            ranges.push(middle..end);
            end = middle;
        } else {
            ranges.push(start..middle);
            start = middle;
        }
    }
    ranges.reverse();
    ranges
}

fn consistency_ranges(old: u64, new: u64) -> Vec<Range<u64>> {
    let mut ranges = Vec::new();
    let (mut start, mut end) = (0, new);
    // Whoever checks knows the old root, so it is left out where it is itself a node.
    let mut whole_old = true;
    while old != end {
        let middle = start + split(end - start);
        if old <= middle {
            ranges.push(middle..end);
            end = middle;
        } else {
            ranges.push(start..middle);
            start = middle;
            whole_old = false;
        }
    }
    if !whole_old {
        ranges.push(start..end);
    }
    ranges.reverse();
    ranges
}
