//! Heads are signed, logs begun and closed.

use super::{Signer, Writer};
use crate::backend::{Change, HeadRow, LogRow};
use crate::disk::Wants;
use crate::error::StoreError;
use crate::high_water::Mark;
use crate::outcome::ReceivedAt;
use ledger::head::{Head, SignedHead, Vkey};
use ledger::leaf::{Close, Leaf};
use std::sync::Arc;

impl Writer {
    pub(super) async fn publish(
        &mut self,
        origin: &Arc<str>,
        sign: Signer,
    ) -> Result<SignedHead, StoreError> {
        self.ready().await?;
        let head = self.committed_head(origin).await?;
        let newest = self.seen.borrow().published.get(origin).cloned();
        if let Some(newest) = newest.filter(|newest| *newest.claimed() == head) {
            return Ok(newest);
        }
        self.marks.raise(origin, Mark { size: head.size, root: head.root }).await?;
        let signed = sign(&head);
        assert_eq!(*signed.claimed(), head, "the signer signs the head that it is given");
        let row = HeadRow { size: head.size, root: head.root, note: signed.to_string() };
        let log = self.memory.as_ref().and_then(|memory| memory.logs.get(origin));
        self.unsaved.insert(log.expect("its head was just read").log, row);
        let published = signed.clone();
        self.seen.send_modify(|seen| drop(seen.published.insert(origin.clone(), published)));
        Ok(signed)
    }

    /// The head of the committed row, if that row is still ours to speak for.
    async fn committed_head(&self, origin: &Arc<str>) -> Result<Head, StoreError> {
        let memory = self.memory.as_ref().expect("the caller made it ready");
        let log = memory.logs.get(origin);
        let log = log.ok_or_else(|| StoreError::NoLog { origin: origin.clone() })?;
        if log.cut {
            return Err(StoreError::LogClosed { origin: origin.clone() });
        }
        let rows = self.backend.logs().await?;
        let row = rows.into_iter().find(|row| row.log == log.log);
        let row = row.ok_or_else(|| StoreError::damaged(format!("log {origin} is gone")))?;
        if row.epoch != self.epoch {
            return Err(StoreError::Fenced { ours: self.epoch, current: row.epoch });
        }
        if (row.size, row.root) != (log.size(), log.root()) {
            return Err(StoreError::HeadMoved { origin: origin.clone() });
        }
        Ok(Head { origin: origin.to_string(), size: row.size, root: row.root })
    }

    pub(super) async fn create_log(&mut self, origin: &Arc<str>) -> Result<(), StoreError> {
        self.ready().await?;
        let known = self.memory.as_ref().is_some_and(|memory| memory.logs.contains_key(origin));
        if known {
            // A start asks for the log that it goes on with, also on a disk that is full.
            return Ok(());
        }
        self.reserve.check(0, Wants::Own)?;
        if !self.marks.read(origin).await?.is_empty() {
            return Err(StoreError::NameUsed { origin: origin.clone() });
        }
        self.backend.create_log(self.epoch, origin).await?;
        self.memory = None;
        self.ready().await
    }

    pub(super) async fn close_log(
        &mut self,
        origin: &Arc<str>,
        rx: ReceivedAt,
        next: Vkey,
    ) -> Result<Head, StoreError> {
        self.ready().await?;
        self.log(origin)?;
        let memory = self.memory.as_mut().expect("it is ready");
        let log = memory.logs.get_mut(origin).expect("it was found above");
        let before = (log.size(), log.root());
        let rx_ms = log.rx_ms.max(rx.ms);
        let leaf = Leaf::Close(Close::new(before.0, rx_ms, rx.error_ms, next));
        let tiles = log.push([leaf.hash()]);
        log.closed = true;
        log.rx_ms = rx_ms;
        let after = (log.size(), log.root());
        let row = LogRow {
            log: log.log,
            origin: origin.clone(),
            size: before.0,
            root: before.1,
            rx_ms,
            epoch: self.epoch,
            closing: None,
        };
        let mut change = Change::new(self.epoch, &row);
        change.after = after;
        change.tiles = tiles;
        change.closing = Some(leaf.to_bytes());
        change.head = self.unsaved.get(&log.log).cloned();
        self.backend.commit(&change).await?;
        self.committed(origin, &change);
        Ok(Head { origin: origin.to_string(), size: after.0, root: after.1 })
    }
}
