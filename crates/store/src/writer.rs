//! The one writer: it takes what has queued up, commits it together, and answers each.
//!
//! No timer gathers a batch: while one commit waits for the disk the next batch queues, so a lone
//! line never waits and a crowd is committed together.

mod appending;
mod heads;
mod memory;

use crate::backend::{Backend, Change, HeadRow};
use crate::disk::{Reserve, Wants};
use crate::error::StoreError;
use crate::marks::Marks;
use crate::outcome::{Appended, Incoming, ReceivedAt};
use crate::tree::OpenLog;
use ledger::head::{Head, SignedHead, Vkey};
use memory::Memory;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
use tokio::sync::{mpsc, oneshot, watch};

/// Lines that are committed together at most (a single larger request goes alone).
const LINES_PER_COMMIT: usize = 256;

/// After so long without an ask signed heads are kept by themselves.
const IDLE: std::time::Duration = std::time::Duration::from_secs(1);

pub(crate) type Reply<T> = oneshot::Sender<Result<T, StoreError>>;
pub(crate) type Signer = Box<dyn FnOnce(&Head) -> SignedHead + Send>;

/// What the writer can be asked.
pub(crate) enum Ask {
    Append(Append),
    Publish { origin: Arc<str>, sign: Signer, reply: Reply<SignedHead> },
    CreateLog { origin: Arc<str>, reply: Reply<()> },
    CloseLog { origin: Arc<str>, rx: ReceivedAt, next: Vkey, reply: Reply<Head> },
}

pub(crate) struct Append {
    pub(crate) origin: Arc<str>,
    pub(crate) rx: ReceivedAt,
    pub(crate) lines: Vec<Incoming>,
    /// Whose lines they are to a disk that fills up.
    pub(crate) wants: Wants,
    pub(crate) reply: Reply<Appended>,
}

/// What readers see of the logs without asking the database.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seen {
    /// Committed heads by log.
    pub(crate) committed: BTreeMap<Arc<str>, Head>,
    /// Newest signed heads by log.
    pub(crate) published: BTreeMap<Arc<str>, SignedHead>,
}

pub(crate) struct Writer {
    backend: Arc<dyn Backend>,
    epoch: i64,
    marks: Marks,
    reserve: Reserve,
    seen: watch::Sender<Seen>,
    memory: Option<Memory>,
    /// Signed heads not yet in the database, by log.
    unsaved: BTreeMap<i64, HeadRow>,
    /// Why nothing can be written any more, known to all who write.
    dead: Arc<OnceLock<StoreError>>,
}

impl Writer {
    pub(crate) fn new(
        backend: Arc<dyn Backend>,
        epoch: i64,
        marks: Marks,
        reserve: Reserve,
        seen: watch::Sender<Seen>,
        dead: Arc<OnceLock<StoreError>>,
    ) -> Writer {
        let unsaved = BTreeMap::new();
        Writer { backend, epoch, marks, reserve, seen, memory: None, unsaved, dead }
    }

    /// Works until every handle is gone.
    pub(crate) async fn run(mut self, mut asked: mpsc::Receiver<Ask>) {
        loop {
            let first = match self.unsaved.is_empty() {
                true => asked.recv().await,
                // A head is kept with the next append; if none comes, it is kept alone.
                false => match tokio::time::timeout(IDLE, asked.recv()).await {
                    Ok(first) => first,
                    Err(_) => {
                        self.save_heads().await;
                        continue;
                    }
                },
            };
            let Some(first) = first else { break };
            let mut asks = vec![first];
            while let Ok(next) = asked.try_recv() {
                asks.push(next);
            }
            self.serve(asks).await;
        }
        self.save_heads().await;
        self.backend.close().await;
    }

    /// Keeps signed heads that no append took along.
    async fn save_heads(&mut self) {
        let unsaved = std::mem::take(&mut self.unsaved);
        if self.dead.get().is_some() {
            return;
        }
        for (log, head) in unsaved {
            let kept = self.backend.keep_head(self.epoch, log, &head).await;
            if let Err(error) = self.noted(kept) {
                tracing::warn!(%error, "the last head was signed but not kept; it will be signed again");
            }
        }
    }

    /// Appends go first: a head asked for at the same time may as well cover them.
    async fn serve(&mut self, asks: Vec<Ask>) {
        let mut others = Vec::new();
        let mut group: Vec<Append> = Vec::new();
        let mut lines = 0;
        for ask in asks {
            let append = match ask {
                Ask::Append(append) => append,
                other => {
                    others.push(other);
                    continue;
                }
            };
            let other_log = group.first().is_some_and(|first| first.origin != append.origin);
            if other_log || (lines > 0 && lines + append.lines.len() > LINES_PER_COMMIT) {
                self.append_group(std::mem::take(&mut group)).await;
                lines = 0;
            }
            lines += append.lines.len();
            group.push(append);
        }
        if !group.is_empty() {
            self.append_group(group).await;
        }
        for ask in others {
            self.serve_other(ask).await;
        }
    }

    async fn serve_other(&mut self, ask: Ask) {
        match ask {
            Ask::Append(append) => self.append_group(vec![append]).await,
            Ask::Publish { origin, sign, reply } => {
                let result = self.publish(&origin, sign).await;
                answer(reply, self.noted(result));
            }
            Ask::CreateLog { origin, reply } => {
                let result = self.create_log(&origin).await;
                answer(reply, self.noted(result));
            }
            Ask::CloseLog { origin, rx, next, reply } => {
                let result = self.close_log(&origin, rx, next).await;
                answer(reply, self.noted(result));
            }
        }
    }

    /// Refuses what there is no room for: on a disk that fills up the server's own lines outlast those of phones.
    fn with_room(&self, group: Vec<Append>) -> Vec<Append> {
        let weight = |append: &Append| append.lines.iter().map(weight_of).sum::<u64>();
        if self.reserve.check(group.iter().map(weight).sum(), Wants::Line).is_ok() {
            return group;
        }
        let mut fitting = Vec::new();
        let mut weighs = 0;
        for append in group {
            match self.reserve.check(weighs + weight(&append), append.wants) {
                Ok(()) => {
                    weighs += weight(&append);
                    fitting.push(append);
                }
                Err(error) => answer(append.reply, Err(error)),
            }
        }
        fitting
    }

    async fn append_group(&mut self, group: Vec<Append>) {
        let group = self.with_room(group);
        if group.is_empty() {
            return;
        }
        let origin = group[0].origin.clone();
        let mut counts = Vec::new();
        let mut replies = Vec::new();
        let mut batch = Vec::new();
        for append in group {
            counts.push(append.lines.len());
            replies.push(append.reply);
            batch.extend(append.lines.into_iter().map(|line| (line, append.rx)));
        }
        let result = self.append(&origin, batch).await;
        match self.noted(result) {
            Ok(appended) => {
                let mut outcomes = appended.outcomes.into_iter();
                for (reply, count) in replies.into_iter().zip(counts) {
                    let outcomes = outcomes.by_ref().take(count).collect();
                    // Whoever is in the batch learns of all that was released by it.
                    let released = appended.released.clone();
                    answer(reply, Ok(Appended { outcomes, released }));
                }
            }
            Err(error) => replies.into_iter().for_each(|reply| answer(reply, Err(error.clone()))),
        }
    }

    /// After any error nothing in memory is believed any more; after a fatal one nothing is written.
    fn noted<T>(&mut self, result: Result<T, StoreError>) -> Result<T, StoreError> {
        if let Err(error) = &result {
            // Asking for a log that is not there changes nothing.
            if !matches!(
                error,
                StoreError::NoLog { .. }
                    | StoreError::LogClosed { .. }
                    | StoreError::NameUsed { .. }
            ) {
                self.memory = None;
            }
            if error.is_fatal() {
                self.dead.get_or_init(|| error.clone());
            }
        }
        result
    }

    fn committed(&mut self, origin: &Arc<str>, change: &Change) {
        self.unsaved.remove(&change.log);
        let head = Head { origin: origin.to_string(), size: change.after.0, root: change.after.1 };
        self.seen.send_modify(|seen| drop(seen.committed.insert(origin.clone(), head)));
    }

    /// Loads what memory does not hold, unless nothing may be written any more.
    async fn ready(&mut self) -> Result<(), StoreError> {
        if let Some(dead) = self.dead.get() {
            return Err(dead.clone());
        }
        if self.memory.is_none() {
            let memory = Memory::load(&*self.backend).await?;
            self.seen.send_modify(|seen| {
                for (origin, log) in &memory.logs {
                    let (size, root) = (log.size(), log.root());
                    let head = Head { origin: origin.to_string(), size, root };
                    seen.committed.insert(origin.clone(), head);
                }
            });
            self.memory = Some(memory);
        }
        Ok(())
    }

    fn log(&self, origin: &Arc<str>) -> Result<&OpenLog, StoreError> {
        let memory = self.memory.as_ref().expect("the caller made it ready");
        match memory.logs.get(origin) {
            None => Err(StoreError::NoLog { origin: origin.clone() }),
            Some(log) if log.closed => Err(StoreError::LogClosed { origin: origin.clone() }),
            Some(log) => Ok(log),
        }
    }
}

/// Bytes that a line will take, roughly: itself, its private line, its row and its share of indexes.
fn weight_of(line: &Incoming) -> u64 {
    (line.line.bytes().len() + line.private.as_ref().map_or(0, Vec::len) + 512) as u64
}

fn answer<T>(reply: Reply<T>, result: Result<T, StoreError>) {
    // Whoever asked may have gone; what was written stays written.
    let _ = reply.send(result);
}
