//! Lines are put into their log: what must be known of their chains is gathered, their places are found, and all is
//! committed at once.

use super::Writer;
use crate::backend::{ChainRow, Change};
use crate::error::StoreError;
use crate::leaves;
use crate::outcome::{Appended, Incoming, ReceivedAt};
use crate::sequence::{Facts, Plan, QUARANTINED_MAX, Target, sequence};
use ledger::{DeviceId, LineId, WatchId};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

impl Writer {
    pub(super) async fn append(
        &mut self,
        origin: &Arc<str>,
        batch: Vec<(Incoming, ReceivedAt)>,
    ) -> Result<Appended, StoreError> {
        self.ready().await?;
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
}

fn used_chains(plan: &Plan) -> BTreeSet<i64> {
    let lines = plan.lines.iter().map(|row| row.line.chain);
    let held = plan.held.iter().map(|row| row.chain);
    let forks = plan.forks.iter().map(|fork| fork.line.chain);
    lines.chain(held).chain(forks).chain(plan.unheld.iter().map(|(chain, _)| *chain)).collect()
}
