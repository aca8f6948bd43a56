//! # What it finds
//! A round that took longer than the shortest gap of the zones seen in it.
//! # Why
//! Walked so, its gaps cannot be kept by this guard alone, even if this night they were.
//! # Demand
//! The longest gap that the terms set for the zone. Only a place to look at: the gaps themselves
//! are judged by `unseen_gap`.
//! # Innocent explanation
//! Another guard saw the zone meanwhile, or an emergency or an observation held the round up.

use super::{Facts, Finding, Judging, Verdict};
use ledger::PersonId;
use serde::Serialize;
use watch::Round;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RoundLongerThanGap {
    /// Whose round.
    pub who: PersonId,
    /// Its number.
    pub round: u32,
    /// How long it took, s.
    pub took_s: i64,
    /// The shortest gap of its zones, s.
    pub allowed_s: u32,
}

pub(crate) fn round_longer_than_gap(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for round in &judging.state.rounds {
        let (Some(until_ms), Some((zone, allowed_s))) = (round.until_ms, shortest(judging, round))
        else {
            continue;
        };
        let took_s = (until_ms - round.from_ms) / 1000;
        if took_s <= i64::from(allowed_s) {
            continue;
        }
        let facts =
            RoundLongerThanGap { who: round.who.clone(), round: round.number, took_s, allowed_s };
        let source = judging.gap_source(&zone, allowed_s);
        findings.push(
            Finding::new(Verdict::Look, Facts::RoundLongerThanGap(facts), source)
                .in_zone(&zone)
                .between(round.from_ms, until_ms)
                .resting_on([&round.began, &round.ended].into_iter().flatten()),
        );
    }
}

fn shortest(judging: &Judging<'_>, round: &Round) -> Option<(record::ZoneId, u32)> {
    let zones = round.seen.iter().filter_map(|seen| judging.state.zone(&seen.zone));
    zones.filter_map(|zone| Some((zone.id.clone(), zone.gap_s?))).min_by_key(|(_, gap_s)| *gap_s)
}
