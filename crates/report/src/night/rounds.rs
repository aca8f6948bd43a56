//! Rounds due, on time, late, missing and stopped.

use crate::page::Page;
use ledger::PersonId;
use std::collections::{BTreeMap, BTreeSet};
use watch::{Gap, GapEnd, Zone};
use words::report;

/// How the rounds of a stretch went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct RoundCount {
    pub(super) on_time: usize,
    pub(super) late: usize,
    pub(super) missing: usize,
}

impl Page<'_> {
    pub(crate) fn rounds(&self) -> String {
        let lang = self.lang();
        let count = self.round_count();
        let due = count.on_time + count.late + count.missing;
        let mut said = vec![report::rounds(lang, due, count.late, count.on_time)];
        if count.missing > 0 {
            said.push(report::rounds_missing(lang, count.missing as i64));
        }
        for (from_ms, to_ms) in self.state.emergencies.iter().filter_map(|e| e.rounds_stopped) {
            let from = self.time(from_ms);
            said.push(match to_ms {
                Some(to_ms) => report::rounds_stopped(lang, from, self.time(to_ms)),
                None => report::rounds_stopped_open(lang, from),
            });
        }
        said.join(" ")
    }

    /// A round is late if any of its looks came after its zone was due. Missing are the rounds for
    /// which the zone that suffered most was due once more and again.
    fn round_count(&self) -> RoundCount {
        let mut rounds: BTreeMap<(PersonId, u32, i64), bool> = BTreeMap::new();
        let mut late_looks = BTreeSet::new();
        for zone in &self.state.zones {
            late_looks.extend(zone.gaps.iter().filter(|gap| over(gap)).filter_map(
                |gap| match gap.to {
                    GapEnd::Look(line) => Some(line),
                    _ => None,
                },
            ));
        }
        for round in &self.state.rounds {
            for seen in round.seen.iter().filter(|seen| self.within(seen.at_ms)) {
                let key = (round.who.clone(), round.number, round.from_ms);
                *rounds.entry(key).or_default() |= late_looks.contains(&seen.line);
            }
        }
        let late = rounds.values().filter(|late| **late).count();
        let missing = self.state.zones.iter().map(|zone| self.missing(zone)).max().unwrap_or(0);
        RoundCount { on_time: rounds.len() - late, late, missing }
    }

    fn missing(&self, zone: &Zone) -> usize {
        let inside = |gap: &&Gap| gap.to_ms > self.from_ms && gap.from_ms < self.until_ms;
        zone.gaps
            .iter()
            .filter(inside)
            .filter_map(|gap| {
                let allowed_ms = i64::from(gap.allowed_s?.max(1)) * 1000;
                let owed = (gap.length_ms() - gap.stopped_ms) / allowed_ms;
                // The round that ends the gap was walked, late; of an open gap none was.
                let walked = i64::from(matches!(gap.to, GapEnd::Look(_)));
                Some((owed - walked).max(0) as usize)
            })
            .sum()
    }
}

fn over(gap: &Gap) -> bool {
    gap.over_ms().is_some_and(|over| over > 0)
}
