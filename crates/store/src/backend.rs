//! The contract of a database: facts out, one change in. A new store is one more implementor that
//! passes `tests/conformance.rs`; the two here share no SQL.

use crate::error::StoreError;
use crate::outcome::{Quarantined, StoredLine};
use crate::settings::{Expect, Setting, SettingKey, Written};
use async_trait::async_trait;
use ledger::{DeviceId, Digest, LineId, Signature, WatchId};
use std::ops::Range;
use std::sync::Arc;

/// The committed row of a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LogRow {
    pub(crate) log: i64,
    pub(crate) origin: Arc<str>,
    pub(crate) size: u64,
    pub(crate) root: Digest,
    /// Highest time of receipt so far, ms.
    pub(crate) rx_ms: i64,
    /// The epoch of the server that may append.
    pub(crate) epoch: i64,
    /// The closing leaf; it is the last one.
    pub(crate) closing: Option<Vec<u8>>,
}

/// A chain as far as the log has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ChainRow {
    pub(crate) chain: i64,
    pub(crate) dev: DeviceId,
    pub(crate) watch: WatchId,
    /// The number that comes next.
    pub(crate) next: u64,
    /// The last line; zeros before the first.
    pub(crate) last: LineId,
    /// Whether lines of it are held.
    pub(crate) holds: bool,
}

/// A line with all that is kept of it, whatever table it goes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LineRow {
    pub(crate) chain: i64,
    pub(crate) seq: u64,
    pub(crate) id: LineId,
    pub(crate) prev: LineId,
    pub(crate) signature: Signature,
    pub(crate) bytes: Vec<u8>,
    pub(crate) private: Option<Vec<u8>>,
}

/// A line with its place in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PlacedRow {
    pub(crate) index: u64,
    pub(crate) rx_ms: i64,
    pub(crate) rxe_ms: i64,
    pub(crate) line: LineRow,
}

/// What stands at one place of a chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Standing {
    pub(crate) chain: i64,
    pub(crate) seq: u64,
    pub(crate) id: LineId,
    pub(crate) log: i64,
    pub(crate) index: u64,
    pub(crate) rx_ms: i64,
    pub(crate) rxe_ms: i64,
}

/// A line for quarantine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ForkRow {
    pub(crate) line: LineRow,
    pub(crate) other: LineId,
    pub(crate) rx_ms: i64,
}

/// A row of hashes of the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct TileRow {
    pub(crate) level: u8,
    pub(crate) tile: u64,
    pub(crate) hashes: Vec<Digest>,
}

/// All that one transaction writes. It holds only if the epoch is still ours and the log is still
/// at `before`.
#[derive(Debug)]
pub(crate) struct Change {
    pub(crate) epoch: i64,
    pub(crate) log: i64,
    pub(crate) origin: Arc<str>,
    pub(crate) before: (u64, Digest),
    pub(crate) after: (u64, Digest),
    pub(crate) rx_ms: i64,
    pub(crate) chains: Vec<(i64, DeviceId, WatchId)>,
    pub(crate) lines: Vec<PlacedRow>,
    pub(crate) held: Vec<LineRow>,
    pub(crate) unheld: Vec<(i64, u64)>,
    pub(crate) forks: Vec<ForkRow>,
    pub(crate) tiles: Vec<TileRow>,
    pub(crate) closing: Option<Vec<u8>>,
    /// A head that was signed since the last change.
    pub(crate) head: Option<HeadRow>,
}

/// A signed head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct HeadRow {
    pub(crate) size: u64,
    pub(crate) root: Digest,
    pub(crate) note: String,
}

/// Which stored lines are wanted.
#[derive(Debug, Clone)]
pub(crate) enum Select {
    /// Of one log, by index.
    Range { log: i64, indexes: Range<u64> },
    /// Of one watch, in log order, after a place.
    Watch { watch: WatchId, after: Option<(i64, u64)> },
    /// Of one chain, from a number.
    Chain { dev: DeviceId, watch: WatchId, from_seq: u64 },
}

impl Change {
    /// A change that writes nothing yet.
    pub(crate) fn new(epoch: i64, row: &LogRow) -> Change {
        Change {
            epoch,
            log: row.log,
            origin: row.origin.clone(),
            before: (row.size, row.root),
            after: (row.size, row.root),
            rx_ms: row.rx_ms,
            chains: Vec::new(),
            lines: Vec::new(),
            held: Vec::new(),
            unheld: Vec::new(),
            forks: Vec::new(),
            tiles: Vec::new(),
            closing: None,
            head: None,
        }
    }
}

/// Tells when something was committed, by whichever process.
#[async_trait]
pub(crate) trait Told: Send + Sync + std::fmt::Debug {
    /// Waits for the next time.
    async fn next(&mut self) -> Result<(), StoreError>;
}

/// A database.
#[async_trait]
pub(crate) trait Backend: Send + Sync + std::fmt::Debug {
    /// Becomes the one process that orders lines and returns the new epoch.
    async fn take_over(&self) -> Result<i64, StoreError>;
    /// Makes a log unless there is one of that name.
    async fn create_log(&self, epoch: i64, origin: &str) -> Result<(), StoreError>;
    /// All logs, oldest first.
    async fn logs(&self) -> Result<Vec<LogRow>, StoreError>;

    /// The highest chain number in use.
    async fn last_chain(&self) -> Result<i64, StoreError>;
    /// The chains of these devices and watches that exist.
    async fn chains(&self, of: &[(DeviceId, WatchId)]) -> Result<Vec<ChainRow>, StoreError>;
    /// What is held of these chains.
    async fn held(&self, chains: &[i64]) -> Result<Vec<LineRow>, StoreError>;
    /// How many lines of a chain are in quarantine.
    async fn quarantined(&self, chain: i64) -> Result<u64, StoreError>;
    /// What stands at these places.
    async fn standing(&self, at: &[(i64, u64)]) -> Result<Vec<Standing>, StoreError>;
    /// News of other processes; none where no other process can write.
    async fn listen(&self) -> Result<Option<Box<dyn Told>>, StoreError> {
        Ok(None)
    }
    /// Writes a change and returns when it is durable.
    async fn commit(&self, change: &Change) -> Result<(), StoreError>;

    /// Stored lines in order, at most `limit`.
    async fn lines(&self, select: &Select, limit: u32) -> Result<Vec<StoredLine>, StoreError>;
    /// The private line at a place: none, erased (`Some(None)`), or its bytes.
    async fn private(&self, log: i64, index: u64) -> Result<Option<Option<Vec<u8>>>, StoreError>;
    /// Erases the private line at a place beyond recovery from the database's files.
    async fn erase_private(&self, epoch: i64, log: i64, index: u64) -> Result<(), StoreError>;
    /// One row of hashes.
    async fn tile(&self, log: i64, level: u8, tile: u64)
    -> Result<Option<Vec<Digest>>, StoreError>;
    /// The numbers held of each chain: device, watch, numbers in order.
    async fn all_held(&self) -> Result<Vec<(DeviceId, WatchId, u64)>, StoreError>;
    /// Lines in quarantine, in the order they came, at most `limit`.
    async fn quarantine(&self, limit: u32) -> Result<Vec<Quarantined>, StoreError>;

    /// Keeps a signed head.
    async fn keep_head(&self, epoch: i64, log: i64, head: &HeadRow) -> Result<(), StoreError>;
    /// The newest signed head not over more than `at_most` leaves.
    async fn head(&self, log: i64, at_most: u64) -> Result<Option<HeadRow>, StoreError>;

    /// One setting.
    async fn setting(&self, key: &SettingKey) -> Result<Option<Setting>, StoreError>;
    /// All settings of a collection whose keys begin with `prefix`, by key.
    async fn settings(&self, collection: &str, prefix: &str) -> Result<Vec<Setting>, StoreError>;
    /// Writes or (with no value) removes a setting if its version is the expected one.
    async fn write_setting(
        &self,
        epoch: i64,
        key: &SettingKey,
        value: Option<&str>,
        expect: Expect,
    ) -> Result<Written, StoreError>;
    /// Writes a setting of another store under the version that it has there.
    async fn copy_setting(&self, epoch: i64, setting: &Setting) -> Result<(), StoreError>;
    /// The names of all collections.
    async fn collections(&self) -> Result<Vec<String>, StoreError>;

    /// One derived value.
    async fn derived(&self, collection: &str, key: &str) -> Result<Option<Vec<u8>>, StoreError>;
    /// Writes a derived value.
    async fn write_derived(
        &self,
        collection: &str,
        key: &str,
        value: &[u8],
    ) -> Result<(), StoreError>;
    /// Drops all derived values.
    async fn drop_derived(&self) -> Result<(), StoreError>;

    /// What the database itself says about its files; empty if all is well.
    async fn self_check(&self) -> Result<Vec<String>, StoreError>;
    /// Waits for running reads and closes.
    async fn close(&self);
}
