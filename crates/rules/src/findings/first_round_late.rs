//! # What it finds
//! A shift whose first look came later than the terms allow.
//! # Why
//! Until the first round nobody knows what the shift before left.
//! # Demand
//! The time for the first round in the terms; an emergency that stops the rounds stops it too.
//! # Innocent explanation
//! The round was walked before the guard began on the phone.

use super::unseen_gap::Why;
use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use serde::Serialize;
use watch::{Shift, Written};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FirstRoundLate {
    /// Whose shift.
    pub who: PersonId,
    /// How long after its beginning the first round or look came, s; none if none came.
    pub after_s: Option<i64>,
    /// How long it may take, s.
    pub allowed_s: u32,
    /// Why the recorded time does not decide.
    pub why: Option<Why>,
}

pub(crate) fn first_round_late(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(allowed_s) = judging.state.terms.as_ref().and_then(|terms| terms.set.first_round_s)
    else {
        return;
    };
    for shift in &judging.state.shifts {
        let due_ms = judging.state.due_ms(shift.from_ms, allowed_s);
        let end_ms = shift.until_ms.unwrap_or(judging.state.cover.until_ms);
        let first = first(judging, shift, end_ms);
        let why = match &first {
            Some(written) => shift.began.when.doubt.or(written.when.doubt).map(Why::Clock),
            None => judging.unheard(due_ms).map(|since_ms| Why::NotHeard { since_ms }),
        };
        let verdict = match (&first, why) {
            (None, _) if end_ms <= due_ms => continue,
            (_, Some(_)) => Verdict::Unclear,
            (Some(written), None) if written.when.at_ms <= due_ms => Verdict::Kept,
            (_, None) => Verdict::Broken,
        };
        let facts = FirstRoundLate {
            who: shift.who.clone(),
            after_s: first.as_ref().map(|written| (written.when.at_ms - shift.from_ms) / 1000),
            allowed_s,
            why,
        };
        let to_ms = first.as_ref().map_or(end_ms, |written| written.when.at_ms);
        let source = judging.source("first_round").unwrap_or(Source::Terms);
        findings.push(
            Finding::new(verdict, Facts::FirstRoundLate(facts), source)
                .between(shift.from_ms, to_ms)
                .resting_on([Some(&shift.began), first.as_ref()].into_iter().flatten()),
        );
    }
}

/// The beginning of the first round of a shift, or its first look, whichever came first.
fn first(judging: &Judging<'_>, shift: &Shift, end_ms: i64) -> Option<Written> {
    let rounds = judging.state.rounds.iter().filter_map(|round| round.began.as_ref());
    let looks = judging.state.zones.iter().flat_map(|zone| &zone.looks).map(|look| &look.written);
    rounds
        .chain(looks)
        .filter(|written| written.who == shift.who)
        .filter(|written| (shift.from_ms..=end_ms).contains(&written.when.at_ms))
        .min_by_key(|written| (written.when.at_ms, written.line))
        .cloned()
}
