//! Decides what becomes of each line of a batch. Pure: facts in, a plan out.

use crate::backend::{ChainRow, ForkRow, LineRow, PlacedRow, Standing};
use crate::outcome::{Incoming, Outcome, Place, ReceivedAt, Refusal};
use ledger::{DeviceId, Digest, LineId, WatchId};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// The most lines of one chain that wait for the lines before them.
pub(crate) const HELD_MAX: usize = 4_096;

/// The most lines of one chain that are kept in quarantine: whoever holds a key could send forks
/// without end.
pub(crate) const QUARANTINED_MAX: u64 = 4_096;

/// What must be known of the chains that a batch touches.
#[derive(Debug, Default)]
pub(crate) struct Facts {
    pub(crate) chains: BTreeMap<(DeviceId, WatchId), ChainRow>,
    /// All that is held of those chains.
    pub(crate) held: BTreeMap<(i64, u64), LineRow>,
    /// What stands in the log where lines of the batch claim a place.
    pub(crate) standing: BTreeMap<(i64, u64), Standing>,
}

/// The log to append to, as the plan sees it.
#[derive(Debug, Clone)]
pub(crate) struct Target {
    pub(crate) log: i64,
    pub(crate) origin: Arc<str>,
    pub(crate) size: u64,
    pub(crate) rx_ms: i64,
    /// The names of all logs by number, for places of older lines.
    pub(crate) names: BTreeMap<i64, Arc<str>>,
}

/// What to write, and what to answer.
#[derive(Debug, Default)]
pub(crate) struct Plan {
    pub(crate) lines: Vec<PlacedRow>,
    pub(crate) held: Vec<LineRow>,
    pub(crate) unheld: Vec<(i64, u64)>,
    pub(crate) forks: Vec<ForkRow>,
    pub(crate) outcomes: Vec<Outcome>,
    pub(crate) released: Vec<Place>,
    /// Highest time of receipt.
    pub(crate) rx_ms: i64,
}

/// Plans a batch. `facts.chains` must hold a row for every chain of the batch and is moved on.
pub(crate) fn sequence(
    batch: Vec<(Incoming, ReceivedAt)>,
    facts: &mut Facts,
    target: &Target,
) -> Plan {
    let plan = Plan { rx_ms: target.rx_ms, ..Plan::default() };
    let mut planner = Planner { facts, target, plan, answers: Vec::new() };
    for (incoming, rx) in batch {
        let answer = planner.take(incoming, rx);
        planner.answers.push(answer);
    }
    planner.finish()
}

/// What is decided of a line before the rest of the batch is known.
enum Answer {
    Final(Outcome),
    /// In the log by this batch.
    Placed {
        at: usize,
    },
    /// Waiting, unless a later line of the batch releases it.
    Waiting {
        chain: i64,
        seq: u64,
    },
}

struct Planner<'a> {
    facts: &'a mut Facts,
    target: &'a Target,
    plan: Plan,
    answers: Vec<Answer>,
}

impl Planner<'_> {
    fn take(&mut self, incoming: Incoming, rx: ReceivedAt) -> Answer {
        let refusal = check_private(&incoming).err();
        let name = (incoming.line.dev, incoming.line.watch.clone());
        let chain = &self.facts.chains[&name];
        let (key, next, last) = (chain.chain, chain.next, chain.last);
        let row = LineRow {
            chain: key,
            seq: incoming.line.seq,
            id: incoming.line.id(),
            prev: incoming.line.prev,
            signature: incoming.line.signature(),
            bytes: incoming.line.bytes().to_vec(),
            private: incoming.private,
        };
        // What is here already needs no private line to be recognised.
        if let Some(answer) = self.known(&row) {
            return answer;
        }
        if let Some(refusal) = refusal {
            return Answer::Final(Outcome::Refused(refusal));
        }
        if row.seq < next {
            let other = self.facts.standing[&(key, row.seq)].id;
            return self.fork(row, other, rx);
        }
        if row.seq > next {
            return self.early(row, rx);
        }
        if row.prev != last {
            return self.fork(row, last, rx);
        }
        let at = self.place(row, rx, &name);
        self.release(key, rx, &name);
        Answer::Placed { at }
    }

    fn known(&self, row: &LineRow) -> Option<Answer> {
        let at = (row.chain, row.seq);
        if let Some(standing) = self.facts.standing.get(&at).filter(|line| line.id == row.id) {
            return Some(Answer::Final(Outcome::Again(Place {
                origin: self.target.names[&standing.log].clone(),
                index: standing.index,
                rx: ReceivedAt { ms: standing.rx_ms, error_ms: standing.rxe_ms },
            })));
        }
        let held = self.facts.held.get(&at).filter(|held| held.id == row.id);
        held.map(|_| Answer::Waiting { chain: at.0, seq: at.1 })
    }

    fn early(&mut self, row: LineRow, rx: ReceivedAt) -> Answer {
        let at = (row.chain, row.seq);
        if let Some(held) = self.facts.held.get(&at) {
            let other = held.id;
            return self.fork(row, other, rx);
        }
        let count = self.facts.held.range((at.0, 0)..=(at.0, u64::MAX)).count();
        if count >= HELD_MAX {
            return Answer::Final(Outcome::Refused(Refusal::HeldFull));
        }
        self.plan.held.push(row.clone());
        self.facts.held.insert(at, row);
        Answer::Waiting { chain: at.0, seq: at.1 }
    }

    fn fork(&mut self, row: LineRow, other: LineId, rx: ReceivedAt) -> Answer {
        if !self.plan.forks.iter().any(|fork| fork.line.id == row.id) {
            self.plan.forks.push(ForkRow { line: row, other, rx_ms: rx.ms });
        }
        Answer::Final(Outcome::Forked { with: other })
    }

    /// Gives the line the next place in the log.
    fn place(&mut self, row: LineRow, rx: ReceivedAt, name: &(DeviceId, WatchId)) -> usize {
        let chain = self.facts.chains.get_mut(name).expect("the caller has just read it");
        chain.next = row.seq + 1;
        chain.last = row.id;
        // A clock set back does not reorder the log: the time of receipt stands still instead.
        self.plan.rx_ms = self.plan.rx_ms.max(rx.ms);
        let at = self.plan.lines.len();
        let index = self.target.size + at as u64;
        self.facts.standing.insert(
            (row.chain, row.seq),
            Standing {
                chain: row.chain,
                seq: row.seq,
                id: row.id,
                log: self.target.log,
                index,
                rx_ms: self.plan.rx_ms,
                rxe_ms: rx.error_ms,
            },
        );
        self.plan.lines.push(PlacedRow {
            index,
            rx_ms: self.plan.rx_ms,
            rxe_ms: rx.error_ms,
            line: row,
        });
        at
    }

    /// Places what was held for the line just placed.
    fn release(&mut self, key: i64, rx: ReceivedAt, name: &(DeviceId, WatchId)) {
        loop {
            let chain = &self.facts.chains[name];
            let (next, last) = (chain.next, chain.last);
            let Some(row) = self.facts.held.remove(&(key, next)) else { return };
            let new = self.plan.held.iter().position(|held| (held.chain, held.seq) == (key, next));
            match new {
                Some(at) => drop(self.plan.held.swap_remove(at)),
                None => self.plan.unheld.push((key, next)),
            }
            if row.prev != last {
                // The number stays open: another line may still fit it.
                self.fork(row, last, rx);
                return;
            }
            let at = self.place(row, rx, name);
            if new.is_none() {
                let place = self.place_at(at);
                self.plan.released.push(place);
            }
        }
    }

    fn place_at(&self, at: usize) -> Place {
        let row = &self.plan.lines[at];
        Place {
            origin: self.target.origin.clone(),
            index: row.index,
            rx: ReceivedAt { ms: row.rx_ms, error_ms: row.rxe_ms },
        }
    }

    fn finish(mut self) -> Plan {
        for chain in self.facts.chains.values_mut() {
            let waiting = self.facts.held.range((chain.chain, 0)..=(chain.chain, u64::MAX));
            chain.holds = waiting.count() > 0;
        }
        let answers = std::mem::take(&mut self.answers);
        let outcomes = answers.into_iter().map(|answer| self.outcome(answer)).collect();
        Plan { outcomes, ..self.plan }
    }

    fn outcome(&self, answer: Answer) -> Outcome {
        match answer {
            Answer::Final(outcome) => outcome,
            Answer::Placed { at } => Outcome::Received(self.place_at(at)),
            Answer::Waiting { chain, seq } => {
                if self.facts.held.contains_key(&(chain, seq)) {
                    return Outcome::Held { missing: self.missing(chain, seq) };
                }
                let placed = self
                    .plan
                    .lines
                    .iter()
                    .position(|row| (row.line.chain, row.line.seq) == (chain, seq));
                match placed {
                    Some(at) => Outcome::Received(self.place_at(at)),
                    None => {
                        let fork = self
                            .plan
                            .forks
                            .iter()
                            .find(|fork| (fork.line.chain, fork.line.seq) == (chain, seq));
                        let with = fork.expect("what was held is placed or forked").other;
                        Outcome::Forked { with }
                    }
                }
            }
        }
    }

    /// The numbers missing before `seq`.
    fn missing(&self, chain: i64, seq: u64) -> Vec<Range<u64>> {
        let row = self.facts.chains.values().find(|row| row.chain == chain);
        let mut from = row.expect("the chain of a held line is known").next;
        let mut missing = Vec::new();
        for (_, held) in self.facts.held.range((chain, 0)..=(chain, seq)).map(|(at, _)| at) {
            if from < *held {
                missing.push(from..*held);
            }
            from = held + 1;
        }
        missing
    }
}

fn check_private(incoming: &Incoming) -> Result<(), Refusal> {
    match (&incoming.line.private, &incoming.private) {
        (None, None) => Ok(()),
        (Some(_), None) => Err(Refusal::PrivateMissing),
        (None, Some(_)) => Err(Refusal::PrivateUnasked),
        (Some(digest), Some(bytes)) if Digest::of(bytes) == *digest => Ok(()),
        (Some(_), Some(_)) => Err(Refusal::PrivateOther),
    }
}
