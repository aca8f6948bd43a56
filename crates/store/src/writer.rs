//! The one writer: it takes what has queued up, commits it together, and answers each.
//!
//! No timer gathers a batch: while one commit waits for the disk the next batch queues, so a lone
//! line never waits and a crowd is committed together.

use crate::backend::{Backend, ChainRow, Change, HeadRow, LogRow};
use crate::disk::Reserve;
use crate::error::StoreError;
use crate::high_water::Mark;
use crate::leaves;
use crate::marks::Marks;
use crate::outcome::{Appended, Incoming, ReceivedAt};
use crate::sequence::{Facts, Plan, QUARANTINED_MAX, Target, sequence};
use crate::tree::OpenLog;
use ledger::head::{Head, SignedHead, Vkey};
use ledger::leaf::{Close, Leaf};
use ledger::{DeviceId, LineId, WatchId};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};
use tokio::sync::{mpsc, oneshot, watch};

/// Lines that are committed together at most (a single larger request goes alone).
const LINES_PER_COMMIT: usize = 256;

/// After so long without an ask signed heads are kept by themselves.
const IDLE: std::time::Duration = std::time::Duration::from_secs(1);

/// Chains remembered; the memory is emptied beyond that.
const CHAINS_REMEMBERED: usize = 100_000;

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

/// What the writer knows of the database, dropped after any error.
struct Memory {
    logs: BTreeMap<Arc<str>, OpenLog>,
    names: BTreeMap<i64, Arc<str>>,
    chains: BTreeMap<(DeviceId, WatchId), ChainRow>,
    last_chain: i64,
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

    async fn append_group(&mut self, group: Vec<Append>) {
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

    async fn append(
        &mut self,
        origin: &Arc<str>,
        batch: Vec<(Incoming, ReceivedAt)>,
    ) -> Result<Appended, StoreError> {
        self.ready().await?;
        let weight = batch.iter().map(|(line, _)| weight_of(line)).sum();
        self.reserve.check(weight)?;
        let log = self.log(origin)?;
        let (log_number, size, root, rx_ms) = (log.log, log.size(), log.root(), log.rx_ms);
        let (mut facts, new) = self.facts(&batch).await?;
        let memory = self.memory.as_mut().expect("it is ready");
        // The time of receipt does not go back from one log to the next either.
        let rx_ms = memory.logs.values().map(|log| log.rx_ms).fold(rx_ms, i64::max);
        let target = Target {
            log: log_number,
            origin: origin.clone(),
            size,
            rx_ms,
            names: memory.names.clone(),
        };
        let mut plan = sequence(batch, &mut facts, &target);
        self.leave_out_forks(&mut plan).await?;
        let memory = self.memory.as_mut().expect("it is ready");
        let used = used_chains(&plan);
        let log = memory.logs.get_mut(origin).expect("it was found above");
        let names: BTreeMap<i64, &(DeviceId, WatchId)> =
            facts.chains.iter().map(|(name, row)| (row.chain, name)).collect();
        let hashes = plan.lines.iter().map(|row| {
            let (dev, watch) = names[&row.line.chain];
            let rx = (row.rx_ms, row.rxe_ms);
            let line = &row.line;
            leaves::entry(*dev, line.id, row.index, rx, line.seq, line.signature, watch.clone())
                .hash()
        });
        let tiles = log.push(hashes);
        log.rx_ms = plan.rx_ms;
        let chains = new.into_iter().filter(|(chain, ..)| used.contains(chain)).collect();
        let Plan { lines, held, unheld, forks, outcomes, released, rx_ms } = plan;
        let change = Change {
            epoch: self.epoch,
            log: log_number,
            origin: origin.clone(),
            before: (size, root),
            after: (log.size(), log.root()),
            rx_ms,
            chains,
            lines,
            held,
            unheld,
            forks,
            tiles,
            closing: None,
            head: self.unsaved.get(&log_number).cloned(),
        };
        if !used.is_empty() {
            self.backend.commit(&change).await?;
            self.committed(origin, &change);
        }
        let memory = self.memory.as_mut().expect("it is ready");
        memory.remember(facts.chains, &used);
        Ok(Appended { outcomes, released })
    }

    /// Forks beyond the most that are kept of a chain are answered as such and not kept.
    async fn leave_out_forks(&self, plan: &mut Plan) -> Result<(), StoreError> {
        let mut room: BTreeMap<i64, u64> = BTreeMap::new();
        for fork in &plan.forks {
            if let Entry::Vacant(chain) = room.entry(fork.line.chain) {
                let kept = self.backend.quarantined(fork.line.chain).await?;
                chain.insert(QUARANTINED_MAX.saturating_sub(kept));
            }
        }
        plan.forks.retain(|fork| {
            let room = room.entry(fork.line.chain).or_default();
            let fits = *room > 0;
            *room = room.saturating_sub(1);
            fits
        });
        Ok(())
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

    /// Gathers what must be known of a batch; new chains get their numbers here.
    async fn facts(
        &mut self,
        batch: &[(Incoming, ReceivedAt)],
    ) -> Result<(Facts, Vec<(i64, DeviceId, WatchId)>), StoreError> {
        let memory = self.memory.as_mut().expect("the caller made it ready");
        let names: BTreeSet<(DeviceId, WatchId)> =
            batch.iter().map(|(line, _)| (line.line.dev, line.line.watch.clone())).collect();
        let mut facts = Facts::default();
        let mut unknown = Vec::new();
        for name in names {
            match memory.chains.remove(&name) {
                Some(row) => drop(facts.chains.insert(name, row)),
                None => unknown.push(name),
            }
        }
        if !unknown.is_empty() {
            for row in self.backend.chains(&unknown).await? {
                facts.chains.insert((row.dev, row.watch.clone()), row);
            }
        }
        let mut new = Vec::new();
        for (dev, watch) in unknown {
            let name = (dev, watch);
            if facts.chains.contains_key(&name) {
                continue;
            }
            memory.last_chain += 1;
            let chain = memory.last_chain;
            new.push((chain, dev, name.1.clone()));
            let (watch, last) = (name.1.clone(), LineId::default());
            let row = ChainRow { chain, dev, watch, next: 0, last, holds: false };
            facts.chains.insert(name, row);
        }
        let holding: Vec<i64> =
            facts.chains.values().filter(|row| row.holds).map(|row| row.chain).collect();
        if !holding.is_empty() {
            let held = self.backend.held(&holding).await?;
            facts.held = held.into_iter().map(|row| ((row.chain, row.seq), row)).collect();
        }
        let claimed = batch.iter().filter_map(|(line, _)| {
            let row = &facts.chains[&(line.line.dev, line.line.watch.clone())];
            (line.line.seq < row.next).then_some((row.chain, line.line.seq))
        });
        let claimed: BTreeSet<(i64, u64)> = claimed.collect();
        if !claimed.is_empty() {
            let claimed: Vec<(i64, u64)> = claimed.into_iter().collect();
            let standing = self.backend.standing(&claimed).await?;
            facts.standing = standing.into_iter().map(|row| ((row.chain, row.seq), row)).collect();
            if facts.standing.len() != claimed.len() {
                return Err(StoreError::damaged("a chain has a hole in the log"));
            }
        }
        Ok((facts, new))
    }

    async fn publish(&mut self, origin: &Arc<str>, sign: Signer) -> Result<SignedHead, StoreError> {
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

    async fn create_log(&mut self, origin: &Arc<str>) -> Result<(), StoreError> {
        self.ready().await?;
        self.reserve.check(0)?;
        let known = self.memory.as_ref().is_some_and(|memory| memory.logs.contains_key(origin));
        if !known && !self.marks.read(origin).await?.is_empty() {
            return Err(StoreError::NameUsed { origin: origin.clone() });
        }
        self.backend.create_log(self.epoch, origin).await?;
        self.memory = None;
        self.ready().await
    }

    async fn close_log(
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

impl Memory {
    async fn load(backend: &dyn Backend) -> Result<Memory, StoreError> {
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
    fn remember(&mut self, chains: BTreeMap<(DeviceId, WatchId), ChainRow>, used: &BTreeSet<i64>) {
        if self.chains.len() > CHAINS_REMEMBERED {
            self.chains.clear();
        }
        let exists = |row: &ChainRow| row.next > 0 || row.holds || used.contains(&row.chain);
        self.chains.extend(chains.into_iter().filter(|(_, row)| exists(row)));
    }
}

fn used_chains(plan: &Plan) -> BTreeSet<i64> {
    let lines = plan.lines.iter().map(|row| row.line.chain);
    let held = plan.held.iter().map(|row| row.chain);
    let forks = plan.forks.iter().map(|fork| fork.line.chain);
    lines.chain(held).chain(forks).chain(plan.unheld.iter().map(|(chain, _)| *chain)).collect()
}

/// Bytes that a line will take, roughly: itself, its private line, its row and its share of indexes.
fn weight_of(line: &Incoming) -> u64 {
    (line.line.bytes().len() + line.private.as_ref().map_or(0, Vec::len) + 512) as u64
}

fn answer<T>(reply: Reply<T>, result: Result<T, StoreError>) {
    // Whoever asked may have gone; what was written stays written.
    let _ = reply.send(result);
}
