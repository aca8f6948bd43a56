//! What the writer remembers between commits.

use crate::backend::{Backend, ChainRow, LogRow};
use crate::error::StoreError;
use crate::tree::OpenLog;
use ledger::{DeviceId, WatchId};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Chains remembered; the memory is emptied beyond that.
const CHAINS_REMEMBERED: usize = 100_000;

/// What the writer knows of the database, dropped after any error.
pub(super) struct Memory {
    pub(super) logs: BTreeMap<Arc<str>, OpenLog>,
    pub(super) names: BTreeMap<i64, Arc<str>>,
    pub(super) chains: BTreeMap<(DeviceId, WatchId), ChainRow>,
    pub(super) last_chain: i64,
}

impl Memory {
    pub(super) async fn load(backend: &dyn Backend) -> Result<Memory, StoreError> {
        let rows: Vec<LogRow> = backend.logs().await?;
        let names = rows.iter().map(|row| (row.log, row.origin.clone())).collect();
        let cut = crate::cut::all(backend).await?;
        let mut logs = BTreeMap::new();
        for row in &rows {
            let mut log = OpenLog::load(backend, row).await?;
            log.cut = cut.contains_key(&row.origin);
            log.closed |= log.cut;
            logs.insert(row.origin.clone(), log);
        }
        let last_chain = backend.last_chain().await?;
        Ok(Memory { logs, names, chains: BTreeMap::new(), last_chain })
    }

    /// Keeps what is now known of chains; one that got no line does not exist.
    pub(super) fn remember(
        &mut self,
        chains: BTreeMap<(DeviceId, WatchId), ChainRow>,
        used: &BTreeSet<i64>,
    ) {
        if self.chains.len() > CHAINS_REMEMBERED {
            self.chains.clear();
        }
        let exists = |row: &ChainRow| row.next > 0 || row.holds || used.contains(&row.chain);
        self.chains.extend(chains.into_iter().filter(|(_, row)| exists(row)));
    }
}
