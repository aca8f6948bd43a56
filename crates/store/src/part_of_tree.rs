//! As much of a log's tree as a bundle of one watch needs: the rows of hashes at its own leaves and at
//! the heads that its lines quote, and the rows above them. A watch of a night is a small part of a
//! year's log; the rest of the log is not read for it.

use crate::error::StoreError;
use crate::leaves::Nodes as Reading;
use crate::store::Store;
use crate::tree::{TILE, TILE_LEVELS, root_of};
use ledger::Digest;
use ledger::merkle::Nodes;
use std::collections::{BTreeMap, BTreeSet};

/// Full nodes between chosen leaves of a log.
#[derive(Debug, Clone, Default)]
pub struct PartOfTree {
    rows: BTreeMap<(u8, u64), Vec<Digest>>,
}

impl Nodes for PartOfTree {
    fn node(&self, level: u32, place: u64) -> Option<Digest> {
        let (row, inner) = (u8::try_from(level / TILE_LEVELS).ok()?, level % TILE_LEVELS);
        let first = place.checked_mul(1 << inner)?;
        let from = (first % TILE) as usize;
        let hashes = self.rows.get(&(row, first / TILE))?.get(from..from + (1 << inner))?;
        Some(root_of(hashes))
    }
}

impl Store {
    /// The nodes of a log between these places: for every two that follow each other, the full nodes
    /// that make up the leaves from the one up to the other; and the root up to each of them.
    pub async fn part_of_tree(
        &self,
        origin: &str,
        places: &BTreeSet<u64>,
    ) -> Result<PartOfTree, StoreError> {
        let log = self.log(origin).await?;
        let mut wanted: BTreeSet<(u8, u64)> = BTreeSet::new();
        for place in places.iter().copied() {
            self.check_inside(&log, place)?;
            // A node of this row lies between two places only if one of them is inside the row.
            for row in 0..(u64::BITS / TILE_LEVELS) as u8 {
                let under_one = 1u64.checked_shl(TILE_LEVELS * (u32::from(row) + 1));
                let inside = under_one.is_none_or(|leaves| place % leaves != 0);
                if inside {
                    wanted.insert((row, under_one.map_or(0, |leaves| place / leaves)));
                }
            }
        }
        let mut reading = Reading::new(self.backend(), &log);
        for (row, tile) in wanted {
            // Above the highest row that exists there is nothing to read.
            let under_hash = 1u64.checked_shl(TILE_LEVELS * u32::from(row)).unwrap_or(u64::MAX);
            if (tile * TILE).saturating_mul(under_hash) + under_hash <= log.size {
                reading.row(row, tile).await?;
            }
        }
        Ok(PartOfTree { rows: reading.into_rows() })
    }
}
