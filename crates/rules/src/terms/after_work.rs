//! How long hot work is watched after the last spark, and the spaced checks that follow.

use super::because::{Because, TermName, TermValue};
use super::facts::HotWork;
use super::situation::{Focus, Judged, Situation};
use super::strictest::{Candidate, Resolved, Stricter, resolve, shown};
use super::{AfterWork, Terms};
use crate::codes::{Origin, ZoneKind};
use crate::standards::{Citation, Demand, Truth};
use jiff::{SignedDuration, Timestamp};

/// Longest list of check instants that terms carry; the spacing and the end say the rest.
const MOST_CHECKS: usize = 48;

pub(super) fn judge(situation: &Situation<'_>, terms: &mut Terms) {
    let mut after = AfterWork::default();
    let mut all = Tail::default();
    for work in &situation.facts.hot_work {
        let tail = Tail::of(situation, work, terms);
        all.uncertain |= tail.uncertain;
        after.watch_s = after.watch_s.max(tail.watch_s);
        all.until = stricter_of(all.until.take(), tail.until, Stricter::More);
        all.checks_every = stricter_of(all.checks_every.take(), tail.checks_every, Stricter::Less);
        all.checks_until = stricter_of(all.checks_until.take(), tail.checks_until, Stricter::More);
        after.sources.extend(tail.sources);
        after.check_sources.extend(tail.check_sources);
    }
    if !by_order(situation, terms, all, &mut after) {
        after.watch_until = after.at_least_until.take();
    }
    after.checks_at = check_instants(&after);
    for sources in [&mut after.sources, &mut after.check_sources] {
        sources.sort();
        sources.dedup();
    }
    terms.after_work = after;
}

/// What the codes ask after one piece of work.
#[derive(Default)]
struct Tail {
    watch_s: Option<i64>,
    /// Milliseconds, with the source that states this very end.
    until: Option<Candidate>,
    uncertain: bool,
    checks_every: Option<Candidate>,
    checks_until: Option<Candidate>,
    sources: Vec<Citation>,
    check_sources: Vec<Citation>,
}

impl Tail {
    fn of(situation: &Situation<'_>, work: &HotWork, terms: &mut Terms) -> Self {
        let mut tail = Self::default();
        let focus = Focus { outage: None, hot_work: Some(work) };
        let mut lengths = Vec::new();
        for judged in situation.values(Demand::AfterWork, focus) {
            tail.length(&judged, &mut lengths, terms);
        }
        early_release(situation, focus, work, terms);
        let resolved = resolve(lengths, Stricter::More);
        shown(terms, &resolved, TermName::WatchUntil, ZoneKind::All, TermValue::Seconds);
        tail.ends(resolved, work, terms);
        for judged in situation.values(Demand::AfterWorkChecks, focus) {
            tail.checks(&judged, work);
        }
        tail
    }

    fn length(&mut self, judged: &Judged<'_>, lengths: &mut Vec<Candidate>, terms: &mut Terms) {
        let found = judged.found;
        if let Truth::Unknown(missing) = judged.truth {
            terms.because.push(Because::FactMissing {
                demand: Demand::AfterWork,
                missing,
                source: found.citation(),
            });
        }
        match found.seconds(found.value.at_least) {
            Some(length) => lengths.push(Candidate::code(length, found.citation())),
            None => {
                // Whoever surveyed and found no hazard has made the judgement that such a rule asks for; it stays theirs.
                self.uncertain = true;
                self.sources.push(found.citation());
                let decides = found.value.decides;
                let reason = Because::NoNumber {
                    demand: Demand::AfterWork,
                    decides,
                    source: found.citation(),
                };
                if !terms.because.contains(&reason) {
                    terms.because.push(reason);
                }
            }
        }
    }

    fn ends(&mut self, resolved: Resolved, work: &HotWork, terms: &mut Terms) {
        let Some(winner) = resolved.winner else { return };
        self.watch_s = Some(winner.value);
        self.sources.push(winner.source.clone());
        let Some(last_spark) = work.last_spark else { return };
        if let Some(until) = later(last_spark, winner.value) {
            self.until = Some(Candidate::code(until.as_millisecond(), winner.source.clone()));
            terms.because.push(Because::WatchedUntil { last_spark, until, source: winner.source });
        }
    }

    fn checks(&mut self, judged: &Judged<'_>, work: &HotWork) {
        let found = judged.found;
        self.check_sources.push(found.citation());
        let every = found.seconds(found.value.every);
        let every = every.map(|every| Candidate::code(every, found.citation()));
        self.checks_every = stricter_of(self.checks_every.take(), every, Stricter::Less);
        // They follow the continuous watch that the same source asks for, or the longest other one.
        let begins = self.until.as_ref().and_then(instant_of).or(work.last_spark);
        let ends = begins.and_then(|begins| later(begins, found.seconds(found.value.at_least)?));
        let ends = ends.map(|ends| Candidate::code(ends.as_millisecond(), found.citation()));
        self.checks_until = stricter_of(self.checks_until.take(), ends, Stricter::More);
    }
}

/// A source whose tail fell away because the place was surveyed says so.
fn early_release(situation: &Situation<'_>, focus: Focus<'_>, work: &HotWork, terms: &mut Terms) {
    if work.surveyed != Some(true) {
        return;
    }
    for judged in situation.judged(Demand::AfterWork, focus) {
        if judged.found.value.when.surveyed == Some(false) {
            terms.because.push(Because::Surveyed { source: judged.found.citation() });
        }
    }
}

/// An order of the authority settles what a code leaves open; others only add. Returns whether the end stays uncertain.
fn by_order(
    situation: &Situation<'_>,
    terms: &mut Terms,
    codes: Tail,
    after: &mut AfterWork,
) -> bool {
    let mut untils: Vec<Candidate> = codes.until.into_iter().collect();
    let mut everies: Vec<Candidate> = codes.checks_every.into_iter().collect();
    let mut check_ends: Vec<Candidate> = codes.checks_until.into_iter().collect();
    for order in situation.orders() {
        untils
            .extend(order.watch_until.map(|until| Candidate::order(until.as_millisecond(), order)));
        everies.extend(order.checks_every_s.map(|every| Candidate::order(every, order)));
        check_ends.extend(
            order.checks_until.map(|until| Candidate::order(until.as_millisecond(), order)),
        );
    }
    let until = resolve(untils, Stricter::More);
    shown(terms, &until, TermName::WatchUntil, ZoneKind::All, instant_value);
    let every = resolve(everies, Stricter::Less);
    shown(terms, &every, TermName::ChecksEvery, ZoneKind::All, TermValue::Seconds);
    let ends = resolve(check_ends, Stricter::More);
    shown(terms, &ends, TermName::ChecksUntil, ZoneKind::All, instant_value);
    let winner = |resolved: &Resolved| resolved.winner.as_ref().map(|winner| winner.source.clone());
    let settled = winner(&until).is_some_and(|source| source.from == Origin::Authority);
    after.sources.extend(winner(&until));
    after.check_sources.extend([&every, &ends].into_iter().filter_map(winner));
    after.at_least_until = until.winner.as_ref().and_then(instant_of);
    after.checks_every_s = every.winner.map(|winner| winner.value);
    after.checks_until = ends.winner.as_ref().and_then(instant_of);
    codes.uncertain && !settled
}

fn instant_of(candidate: &Candidate) -> Option<Timestamp> {
    Timestamp::from_millisecond(candidate.value).ok()
}

fn instant_value(ms: i64) -> TermValue {
    Timestamp::from_millisecond(ms).map_or(TermValue::Seconds(ms / 1_000), TermValue::At)
}

/// The latest instants at which checks no farther apart than their spacing reach their end.
fn check_instants(after: &AfterWork) -> Vec<Timestamp> {
    let (Some(from), Some(every), Some(until)) =
        (after.watch_until, after.checks_every_s, after.checks_until)
    else {
        return Vec::new();
    };
    let mut instants = Vec::new();
    let mut next = later(from, every);
    while let Some(at) = next.filter(|at| *at < until && instants.len() < MOST_CHECKS) {
        instants.push(at);
        next = later(at, every);
    }
    if from < until {
        instants.push(until);
    }
    instants
}

/// The one that asks for more; of equals the first, each with its own source.
fn stricter_of(
    held: Option<Candidate>,
    other: Option<Candidate>,
    stricter: Stricter,
) -> Option<Candidate> {
    match (held, other) {
        (Some(held), Some(other)) if stricter.than(other.value, held.value) => Some(other),
        (held, other) => held.or(other),
    }
}

fn later(from: Timestamp, seconds: i64) -> Option<Timestamp> {
    from.checked_add(SignedDuration::from_secs(seconds)).ok()
}
