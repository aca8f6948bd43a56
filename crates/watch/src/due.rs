//! What is due: the longest allowed gap of each zone over time, and from it the instant by which a
//! zone must be seen again.

use crate::aspects::gaps::Stopped;
use crate::corrections::Effective;
use crate::kept::Kept;
use ledger::order::{self, Map, Set};
use ledger::{LineId, PersonId, WatchId};
use record::{Entry, ZoneId};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// By when a zone must be seen again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Due {
    /// The zone.
    pub zone: ZoneId,
    /// By when, ms UTC.
    pub due_ms: i64,
    /// The gap that is allowed, s, by the demand in force then.
    pub allowed_s: u32,
    /// From when it is counted, ms UTC.
    pub since_ms: i64,
    /// The look from which it is counted; none before the first.
    pub since: Option<LineId>,
    /// The rounds are stopped by an emergency: the clock stands.
    pub stopped: bool,
}

/// What sets demands: terms, orders, releases, the beginning of the watch and of the duty.
#[derive(Debug, Clone, Default)]
pub(crate) struct Demands {
    terms: Map<(i64, LineId), BTreeMap<ZoneId, u32>>,
    orders: Map<(i64, LineId), BTreeMap<ZoneId, u32>>,
    opened: Map<(i64, LineId), (i64, Option<i64>)>,
    begun: Set<(i64, LineId)>,
    released: Set<(i64, LineId)>,
    /// By person: put on duty (true) or off it.
    duty: Map<PersonId, Map<(i64, LineId), bool>>,
    zones: Map<ZoneId, u32>,
}

impl Demands {
    pub(crate) fn add(&mut self, kept: &Kept, effective: &Effective) {
        if effective.withdrawn_by.is_some() {
            return;
        }
        let key = (effective.at_ms, kept.id);
        match &kept.said {
            Entry::TermsSet(body) => {
                body.gaps_s.keys().for_each(|zone| self.name(zone));
                self.terms.insert(key, body.gaps_s.clone());
            }
            Entry::OrderReceived(body) if !body.gaps_s.is_empty() => {
                body.gaps_s.keys().for_each(|zone| self.name(zone));
                self.orders.insert(key, body.gaps_s.clone());
            }
            Entry::WatchOpened(body) => {
                self.opened.insert(key, (body.from_ms, body.until_ms));
            }
            Entry::ShiftBegan(_) => {
                self.begun.insert(key);
                self.duty.or_default(kept.who.clone()).insert(key, true);
            }
            Entry::ReliefTaken(body) => {
                self.begun.insert(key);
                self.duty.or_default(body.from.clone()).insert(key, false);
                self.duty.or_default(kept.who.clone()).insert(key, true);
            }
            Entry::ShiftEnded(_) => {
                self.duty.or_default(kept.who.clone()).insert(key, false);
            }
            Entry::WatchReleased(_) => {
                self.released.insert(key);
            }
            _ => {}
        }
    }

    pub(crate) fn remove(&mut self, kept: &Kept, effective: &Effective) {
        let key = (effective.at_ms, kept.id);
        if let Some(gaps) = self.terms.remove(&key) {
            gaps.keys().for_each(|zone| self.unname(zone));
        }
        if let Some(gaps) = self.orders.remove(&key) {
            gaps.keys().for_each(|zone| self.unname(zone));
        }
        self.opened.remove(&key);
        self.begun.remove(&key);
        self.released.remove(&key);
        self.duty.values_mut().for_each(|events| {
            events.remove(&key);
        });
    }

    fn name(&mut self, zone: &ZoneId) {
        *self.zones.or_default(zone.clone()) += 1;
    }

    fn unname(&mut self, zone: &ZoneId) {
        if let Some(count) = self.zones.get_mut(zone) {
            *count -= 1;
            if *count == 0 {
                self.zones.remove(zone);
            }
        }
    }

    /// The zones for which a gap was ever set.
    pub(crate) fn zones(&self) -> impl Iterator<Item = &ZoneId> {
        self.zones.keys()
    }

    /// From when looks are owed: the watch has begun and somebody is on duty. The stretch before is
    /// for the cover line to show.
    pub(crate) fn owed_from(&self, now_ms: i64) -> Option<i64> {
        let from_ms = self.opened.last_key_value()?.1.0;
        let begun = self.begun.first().filter(|(begun_ms, _)| *begun_ms <= now_ms);
        Some(begun.map_or(from_ms, |(begun_ms, _)| from_ms.max(*begun_ms)))
    }

    /// Since when looks are owed no longer, if that is so at `now_ms`: the watch was released, or
    /// its planned end has passed and nobody is on duty any more. A planned end alone ends nothing
    /// while a guard still walks.
    pub(crate) fn over_since(&self, now_ms: i64) -> Option<i64> {
        let released =
            self.released.range(..(now_ms.saturating_add(1), LineId::default())).next_back();
        if let Some((at_ms, _)) = released {
            return Some(*at_ms);
        }
        let planned_ms = self.opened.last_key_value().and_then(|(_, window)| window.1)?;
        (planned_ms <= now_ms && !self.anybody_on_duty(now_ms)).then_some(planned_ms)
    }

    fn anybody_on_duty(&self, now_ms: i64) -> bool {
        self.duty.values().any(|events| {
            events
                .range(..(now_ms.saturating_add(1), LineId::default()))
                .next_back()
                .is_some_and(|(_, on_duty)| *on_duty)
        })
    }

    pub(crate) fn due(
        &self,
        zone: &ZoneId,
        last: Option<(i64, LineId)>,
        now_ms: i64,
    ) -> Option<Due> {
        if self.over_since(now_ms).is_some() {
            return None;
        }
        let start_ms = self.owed_from(now_ms).filter(|start_ms| *start_ms <= now_ms)?;
        let (since_ms, since) = match last.filter(|(at_ms, _)| *at_ms >= start_ms) {
            Some((at_ms, id)) => (at_ms, Some(id)),
            None => (start_ms, None),
        };
        self.epochs(zone, now_ms).due(since_ms, &Stopped::default()).map(|(due_ms, allowed_s)| {
            Due { zone: zone.clone(), due_ms, allowed_s, since_ms, since, stopped: false }
        })
    }

    /// How the allowed gap of a zone changed over time. An order can only tighten what the terms say
    /// until new terms take it up.
    pub(crate) fn epochs(&self, zone: &ZoneId, now_ms: i64) -> Epochs {
        let terms = self.terms.iter().map(|(key, gaps)| (*key, true, gaps.get(zone).copied()));
        let orders = self
            .orders
            .iter()
            .filter_map(|(key, gaps)| Some((*key, false, Some(*gaps.get(zone)?))));
        let mut changes: Vec<_> = terms.chain(orders).collect();
        changes.retain(|((at_ms, _), ..)| *at_ms <= now_ms);
        order::sort_by(&mut changes, Ord::cmp);
        let mut epochs: Vec<(i64, Option<u32>)> = Vec::new();
        for ((at_ms, _), is_terms, gap_s) in changes {
            let before = epochs.last().and_then(|(_, gap_s)| *gap_s);
            let gap_s = match (is_terms, before, gap_s) {
                (false, Some(before), Some(ordered)) => Some(before.min(ordered)),
                _ => gap_s,
            };
            epochs.push((at_ms, gap_s));
        }
        Epochs(epochs)
    }
}

/// The allowed gap of one zone from each instant on, s.
#[derive(Debug, Clone, Default)]
pub(crate) struct Epochs(Vec<(i64, Option<u32>)>);

impl Epochs {
    #[cfg(test)]
    pub(crate) fn from_changes(changes: Vec<(i64, Option<u32>)>) -> Epochs {
        Epochs(changes)
    }

    /// The gap that the newest demand allows, s.
    pub(crate) fn now(&self) -> Option<u32> {
        self.0.last()?.1
    }

    /// By when a zone last seen at `since_ms` must be seen again, and the gap that is allowed then.
    ///
    /// A demand that is tightened meanwhile begins to run when it is set; a looser one counts from
    /// the look. Time in which an emergency stopped the rounds does not count.
    pub(crate) fn due(&self, since_ms: i64, stopped: &Stopped) -> Option<(i64, u32)> {
        let mut due: Option<(i64, u32)> = None;
        for (place, (from_ms, gap_s)) in self.0.iter().enumerate() {
            let first = place == 0 || *from_ms <= since_ms;
            if due.is_some_and(|(due_ms, _)| *from_ms >= due_ms) {
                break;
            }
            due = match (gap_s, due) {
                (None, _) => None,
                (Some(gap_s), _) if first => Some((stopped.after(since_ms, *gap_s), *gap_s)),
                (Some(gap_s), None) => Some((stopped.after(*from_ms, *gap_s), *gap_s)),
                (Some(gap_s), Some((due_ms, before_s))) => Some(if *gap_s >= before_s {
                    (due_ms.max(stopped.after(since_ms, *gap_s)), *gap_s)
                } else {
                    (due_ms.min(stopped.after(*from_ms, *gap_s)), *gap_s)
                }),
            };
        }
        due
    }
}

/// The next due instant of many watches, in order: telling one watch's next due again and asking for
/// the first both cost logarithmic time in the number of watches.
#[derive(Debug, Clone, Default)]
pub struct Deadlines {
    by_time: BTreeSet<(i64, WatchId)>,
    by_watch: BTreeMap<WatchId, i64>,
}

impl Deadlines {
    /// Notes what is due next in a watch; none takes the watch out.
    pub fn set(&mut self, watch: &WatchId, due_ms: Option<i64>) {
        if let Some(before_ms) = self.by_watch.remove(watch) {
            self.by_time.remove(&(before_ms, watch.clone()));
        }
        if let Some(due_ms) = due_ms {
            self.by_watch.insert(watch.clone(), due_ms);
            self.by_time.insert((due_ms, watch.clone()));
        }
    }

    /// The first due instant and its watch.
    pub fn first(&self) -> Option<(i64, &WatchId)> {
        self.by_time.first().map(|(due_ms, watch)| (*due_ms, watch))
    }

    /// The watches that are due by an instant, the longest due first.
    pub fn due_by(&self, now_ms: i64) -> impl Iterator<Item = (i64, &WatchId)> {
        self.by_time
            .iter()
            .take_while(move |(due_ms, _)| *due_ms <= now_ms)
            .map(|(due_ms, watch)| (*due_ms, watch))
    }

    /// How many watches have something due.
    pub fn len(&self) -> usize {
        self.by_watch.len()
    }

    /// Whether nothing is due anywhere.
    pub fn is_empty(&self) -> bool {
        self.by_watch.is_empty()
    }
}
