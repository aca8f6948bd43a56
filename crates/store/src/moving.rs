//! Copies a store into an empty one, on whatever database: the same bytes, the same roots.

use crate::backend::{Backend, Change, ForkRow, LineRow, LogRow, PlacedRow};
use crate::error::StoreError;
use crate::leaves::leaf_of;
use crate::options::Options;
use crate::outcome::{Place, PrivateLine, StoredLine};
use crate::store::{Store, open_backend};
use crate::tree::OpenLog;
use ledger::merkle::leaf_hash;
use ledger::{DeviceId, LineId, WatchId};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Lines copied in one transaction.
const PAGE: u32 = 1_024;

/// What was copied.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moved {
    /// Logs.
    pub logs: u64,
    /// Lines in them.
    pub lines: u64,
    /// Lines held or in quarantine.
    pub waiting: u64,
    /// Settings.
    pub settings: u64,
    /// Blobs.
    pub blobs: u64,
}

/// Copies everything but derived values into an empty store and compares the roots. The source must
/// not be served meanwhile; it is left as it was, and the marks stay where they are. A copy that was
/// broken off is thrown away and begun again.
pub async fn move_store(from: &Options, to: &Options) -> Result<Moved, StoreError> {
    copy(Store::open(from).await?, from, to, UpTo::TheEnd).await
}

/// How much of each log is copied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum UpTo {
    /// All of it.
    TheEnd,
    /// What the newest signed head covers: should the copy one day be all that is left, then each of
    /// its lines can still be proven.
    SignedHeads,
}

async fn end_at_signed_head(backend: &dyn Backend, row: &mut LogRow) -> Result<(), StoreError> {
    let head = backend.head(row.log, row.size).await?;
    let (size, root) =
        head.map_or((0, ledger::merkle::empty_root()), |head| (head.size, head.root));
    if size < row.size {
        (row.size, row.root, row.closing) = (size, root, None);
    }
    Ok(())
}

/// Copies all that a store holds as its heads are now; it may grow meanwhile.
pub(crate) async fn copy(
    source: Store,
    from: &Options,
    to: &Options,
    up_to: UpTo,
) -> Result<Moved, StoreError> {
    let (target, _) = open_backend(to, true).await?;
    if !target.logs().await?.is_empty() {
        return Err(StoreError::NotOurs {
            at: "the target".into(),
            says: "it already holds logs. Move into an empty store".into(),
        });
    }
    let epoch = target.take_over().await?;
    let mut copy =
        Copy { source: &source, target, epoch, chains: BTreeMap::new(), moved: Moved::default() };
    let mut rows = source.backend().logs().await?;
    if up_to == UpTo::SignedHeads {
        for row in &mut rows {
            end_at_signed_head(source.backend(), row).await?;
        }
    }
    for row in &rows {
        copy.log(row).await?;
    }
    copy.waiting().await?;
    copy.settings().await?;
    if from.blobs != to.blobs {
        copy.blobs(to).await?;
    }
    copy.compare(&rows).await?;
    let moved = copy.moved;
    copy.target.close().await;
    source.close().await;
    Ok(moved)
}

struct Copy<'a> {
    source: &'a Store,
    target: Arc<dyn Backend>,
    epoch: i64,
    chains: BTreeMap<(DeviceId, WatchId), i64>,
    moved: Moved,
}

impl Copy<'_> {
    async fn log(&mut self, source: &LogRow) -> Result<(), StoreError> {
        self.target.create_log(self.epoch, &source.origin).await?;
        let mut row = self.target_row(&source.origin).await?;
        let mut open = OpenLog::load(&*self.target, &row).await?;
        let lines_end = source.size - u64::from(source.closing.is_some());
        while open.size() < lines_end {
            let indexes = open.size()..lines_end;
            let lines = self.source.lines(&source.origin, indexes, PAGE).await?;
            let Some(last) = lines.last() else {
                return Err(StoreError::damaged(format!("line {} is missing", open.size())));
            };
            let mut change = Change::new(self.epoch, &row);
            change.rx_ms = last.place.rx.ms;
            let mut erased = Vec::new();
            for line in &lines {
                let placed = self.placed(line, &mut change, &mut erased).await?;
                change.lines.push(placed);
            }
            change.tiles = open.push(lines.iter().map(|line| leaf_of(line).hash()));
            change.after = (open.size(), open.root());
            self.target.commit(&change).await?;
            for index in erased {
                self.target.erase_private(self.epoch, row.log, index).await?;
            }
            self.moved.lines += lines.len() as u64;
            (row.size, row.root, row.rx_ms) = (open.size(), open.root(), change.rx_ms);
        }
        let mut end = Change::new(self.epoch, &row);
        end.rx_ms = source.rx_ms;
        end.closing = source.closing.clone();
        if let Some(closing) = &source.closing {
            end.tiles = open.push([leaf_hash(closing)]);
        }
        end.after = (open.size(), open.root());
        end.head = self.source.backend().head(source.log, source.size).await?;
        self.target.commit(&end).await?;
        self.moved.logs += 1;
        Ok(())
    }

    async fn target_row(&self, origin: &str) -> Result<LogRow, StoreError> {
        let row = self.target.logs().await?.into_iter().find(|row| &*row.origin == origin);
        row.ok_or_else(|| StoreError::NoLog { origin: origin.into() })
    }

    /// A line as the target keeps it; an erased private line is written empty and erased after.
    async fn placed(
        &mut self,
        line: &StoredLine,
        change: &mut Change,
        erased: &mut Vec<u64>,
    ) -> Result<PlacedRow, StoreError> {
        let Place { index, rx, .. } = line.place;
        let private = match self.source.private(&line.place).await? {
            PrivateLine::Absent => None,
            PrivateLine::Here(bytes) => Some(bytes),
            PrivateLine::Erased => {
                erased.push(index);
                Some(Vec::new())
            }
        };
        let line = LineRow {
            chain: self.chain(line.dev, &line.watch, change),
            seq: line.seq,
            id: line.id,
            // Only held lines are asked what they follow.
            prev: LineId::default(),
            signature: line.signed.signature,
            bytes: line.signed.bytes.clone(),
            private,
        };
        Ok(PlacedRow { index, rx_ms: rx.ms, rxe_ms: rx.error_ms, line })
    }

    fn chain(&mut self, dev: DeviceId, watch: &WatchId, change: &mut Change) -> i64 {
        let next = self.chains.len() as i64 + 1;
        *self.chains.entry((dev, watch.clone())).or_insert_with(|| {
            change.chains.push((next, dev, watch.clone()));
            next
        })
    }

    /// Lines that are held or in quarantine; they go with the last log that is open.
    async fn waiting(&mut self) -> Result<(), StoreError> {
        let mut names: Vec<(DeviceId, WatchId)> = Vec::new();
        for (dev, watch, _) in self.source.held().await? {
            if names.last() != Some(&(dev, watch.clone())) {
                names.push((dev, watch));
            }
        }
        let quarantine = self.source.quarantine(u32::MAX).await?;
        let rows = self.target.logs().await?;
        let Some(row) = rows.iter().rev().find(|row| row.closing.is_none()) else {
            let nothing = names.is_empty() && quarantine.is_empty();
            return match nothing {
                true => Ok(()),
                false => Err(StoreError::damaged("lines wait, but no log is open to take them")),
            };
        };
        let mut change = Change::new(self.epoch, row);
        for chain in self.source.backend().chains(&names).await? {
            let ours = self.chain(chain.dev, &chain.watch, &mut change);
            for held in self.source.backend().held(&[chain.chain]).await? {
                change.held.push(LineRow { chain: ours, ..held });
            }
        }
        for fork in quarantine {
            let line = LineRow {
                chain: self.chain(fork.dev, &fork.watch, &mut change),
                seq: fork.seq,
                id: fork.id,
                prev: LineId::default(),
                signature: fork.signed.signature,
                bytes: fork.signed.bytes,
                private: fork.private,
            };
            change.forks.push(ForkRow { line, other: fork.other, rx_ms: fork.rx_ms });
        }
        self.moved.waiting = (change.held.len() + change.forks.len()) as u64;
        self.target.commit(&change).await
    }

    async fn settings(&mut self) -> Result<(), StoreError> {
        for collection in self.source.collections().await? {
            for setting in self.source.settings(&collection, "").await? {
                self.target.copy_setting(self.epoch, &setting).await?;
                self.moved.settings += 1;
            }
        }
        Ok(())
    }

    async fn blobs(&mut self, to: &Options) -> Result<(), StoreError> {
        let reserve = crate::disk::Reserve::new(vec![to.blobs.clone()], to.reserve_bytes);
        let blobs = crate::blobs::Blobs::open(&to.blobs, reserve, to.blob_bytes_max)?;
        for named in self.source.blobs().list().await? {
            if let Some(bytes) = self.source.blobs().get(named).await? {
                blobs.put(named, bytes).await?;
                self.moved.blobs += 1;
            }
        }
        Ok(())
    }

    /// Loads each log of the target from what it holds and compares it with the source.
    async fn compare(&self, rows: &[LogRow]) -> Result<(), StoreError> {
        for source in rows {
            let row = self.target_row(&source.origin).await?;
            let open = OpenLog::load(&*self.target, &row).await?;
            if (open.size(), open.root()) != (source.size, source.root) {
                return Err(StoreError::damaged(format!(
                    "log {} has another root after the move: throw the copy away",
                    source.origin
                )));
            }
        }
        Ok(())
    }
}
