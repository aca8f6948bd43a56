//! # What it finds
//! A guard who left while the watch went on and nobody had taken over.
//! # Why
//! The outgoing guard is the watch until the next one is.
//! # Demand
//! That the guard stays until relieved, if the terms say so; else only a place to look at.
//! # Innocent explanation
//! The next guard was there and began on the phone later.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use serde::Serialize;
use watch::{Doubt, Shift};

/// Two people press one after the other: less than a minute is for somebody to look at, not a breach, as it
/// is for the cover line.
const CLOCK_MINUTE_MS: i64 = 60_000;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReliefMissing {
    /// Who left.
    pub who: PersonId,
    /// How long nobody was there, s.
    pub nobody_s: i64,
    /// Who came then, if anybody.
    pub next: Option<PersonId>,
    /// Why the times may not be judged by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clock: Option<Doubt>,
}

pub(crate) fn relief_missing(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let shifts = &judging.state.shifts;
    for shift in shifts.iter().filter(|shift| shift.relieved_by.is_none()) {
        let Some(left_ms) = shift.until_ms.filter(|ms| *ms < judging.state.cover.until_ms) else {
            continue;
        };
        // Also the same person, who began anew in that very instant.
        if shifts.iter().any(|other| on_duty(other, left_ms)) {
            continue;
        }
        let next = shifts.iter().filter(|s| s.from_ms >= left_ms).min_by_key(|s| s.from_ms);
        let back_ms = next.map_or(judging.state.cover.until_ms, |shift| shift.from_ms);
        let ends = shift.ended.iter().chain(next.map(|shift| &shift.began));
        let clock = ends.clone().find_map(|written| written.when.doubt);
        let facts = ReliefMissing {
            who: shift.who.clone(),
            nobody_s: (back_ms - left_ms) / 1000,
            next: next.map(|shift| shift.who.clone()),
            clock,
        };
        let owed = judging.owed().is_some_and(|owed| owed.relief);
        let verdict = match back_ms - left_ms {
            CLOCK_MINUTE_MS.. if owed && clock.is_some() => Verdict::Unclear,
            CLOCK_MINUTE_MS.. if owed => Verdict::Broken,
            _ => Verdict::Look,
        };
        let source =
            judging.source("relief").unwrap_or(if owed { Source::Terms } else { Source::Ours });
        findings.push(
            Finding::new(verdict, Facts::ReliefMissing(facts), source)
                .between(left_ms, back_ms)
                .resting_on(ends),
        );
    }
}

fn on_duty(shift: &Shift, at_ms: i64) -> bool {
    shift.from_ms <= at_ms && shift.until_ms.is_none_or(|until_ms| until_ms > at_ms)
}
