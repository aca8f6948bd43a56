//! The open end of a log in the writer's memory: its edge, and the rows of hashes still growing.

use crate::backend::{Backend, LogRow, TileRow};
use crate::error::StoreError;
use crate::leaves;
use ledger::Digest;
use ledger::merkle::Edge;

/// Hashes in a row: 8 levels of the tree.
pub(crate) const TILE: u64 = 256;
pub(crate) const TILE_LEVELS: u32 = 8;

/// A log as the writer knows it. Dropped and loaded again after any error.
#[derive(Debug)]
pub(crate) struct OpenLog {
    pub(crate) log: i64,
    pub(crate) rx_ms: i64,
    /// Takes no more lines.
    pub(crate) closed: bool,
    /// Lost its end: nothing of it is signed any more.
    pub(crate) cut: bool,
    edge: Edge,
    /// `rows[0]` holds the last leaf hashes, `rows[k]` the last nodes over 256^k leaves.
    rows: Vec<Vec<Digest>>,
}

impl OpenLog {
    /// Loads the end of a log and checks it against its committed root.
    pub(crate) async fn load(backend: &dyn Backend, row: &LogRow) -> Result<OpenLog, StoreError> {
        let mut rows = vec![leaves::hashes(backend, row, row.size / TILE * TILE..row.size).await?];
        let (mut level, mut nodes) = (1, row.size / TILE);
        while nodes > 0 {
            let tile = nodes / TILE;
            let open = (nodes % TILE) as usize;
            let hashes = match open {
                0 => Vec::new(),
                _ => backend.tile(row.log, level, tile).await?.unwrap_or_default(),
            };
            if hashes.len() != open {
                return Err(StoreError::damaged(format!(
                    "log {}: hash row {tile} of level {level} has {} hashes, expected {open}",
                    row.origin,
                    hashes.len()
                )));
            }
            rows.push(hashes);
            (level, nodes) = (level + 1, nodes / TILE);
        }
        let mut edge = Edge::new();
        for (level, hashes) in rows.iter().enumerate().rev() {
            for hash in hashes {
                let pushed = edge.push_node(TILE_LEVELS * level as u32, *hash);
                pushed.expect("the rows of a size are the digits of that size in base 256");
            }
        }
        if (edge.size(), edge.root()) != (row.size, row.root) {
            return Err(StoreError::damaged(format!(
                "log {}: its {} leaves do not have the root that was committed",
                row.origin, row.size
            )));
        }
        let closed = row.closing.is_some();
        Ok(OpenLog { log: row.log, rx_ms: row.rx_ms, closed, cut: false, edge, rows })
    }

    pub(crate) fn size(&self) -> u64 {
        self.edge.size()
    }

    pub(crate) fn root(&self) -> Digest {
        self.edge.root()
    }

    /// Appends leaf hashes and returns the rows to write.
    pub(crate) fn push(&mut self, hashes: impl IntoIterator<Item = Digest>) -> Vec<TileRow> {
        let mut written: Vec<TileRow> = Vec::new();
        for hash in hashes {
            self.edge.push(hash);
            self.rows[0].push(hash);
            if self.rows[0].len() as u64 == TILE {
                self.carry(&mut written);
            }
        }
        written
    }

    /// Keeps the full row of leaves and moves its root up, as far as rows are full.
    fn carry(&mut self, written: &mut Vec<TileRow>) {
        let mut level = 0;
        // Nodes of this level, of which the row holds the last.
        let mut nodes = self.edge.size();
        loop {
            let row = TileRow {
                level: level as u8,
                tile: (nodes - 1) / TILE,
                hashes: self.rows[level].clone(),
            };
            let full = row.hashes.len() as u64 == TILE;
            let node = root_of(&row.hashes);
            // A growing row replaces what this change already holds of it.
            written.retain(|old| (old.level, old.tile) != (row.level, row.tile));
            written.push(row);
            if !full {
                return;
            }
            self.rows[level].clear();
            (level, nodes) = (level + 1, nodes / TILE);
            if self.rows.len() == level {
                self.rows.push(Vec::new());
            }
            self.rows[level].push(node);
        }
    }
}

/// The node over a run of sibling nodes.
pub(crate) fn root_of(hashes: &[Digest]) -> Digest {
    let mut edge = Edge::new();
    hashes.iter().for_each(|hash| edge.push(*hash));
    edge.root()
}
