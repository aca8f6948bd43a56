//! How long hot work is watched after the last spark, and the spaced checks that follow.

use super::because::{Because, TermName, TermValue};
use super::facts::HotWork;
use super::situation::{Focus, Judged, Situation};
use super::strictest::{Candidate, Resolved, Stricter, resolve, shown};
use super::{AfterWork, Terms};
use crate::codes::ZoneKind;
use crate::standards::{Citation, Demand, Truth};
use jiff::{SignedDuration, Timestamp};

/// Longest list of check instants that terms carry; the spacing and the end say the rest.
const MOST_CHECKS: usize = 48;

pub(super) fn judge(situation: &Situation<'_>, terms: &mut Terms) {
    let mut after = AfterWork::default();
    let mut uncertain = false;
    for work in &situation.facts.hot_work {
        let tail = Tail::of(situation, work, terms);
        uncertain |= tail.uncertain;
        after.watch_s = after.watch_s.max(tail.watch_s);
        after.at_least_until = after.at_least_until.max(tail.until);
        after.checks_until = after.checks_until.max(tail.checks_until);
        after.checks_every_s = strictest_spacing(after.checks_every_s, tail.checks_every_s);
        after.sources.extend(tail.sources);
    }
    by_order(situation, terms, &mut after, &mut uncertain);
    if uncertain {
        after.watch_until = None;
    } else {
        after.watch_until = after.at_least_until.take();
    }
    after.checks_at = check_instants(&after);
    after.sources.sort();
    after.sources.dedup();
    terms.after_work = after;
}

/// What the codes ask after one piece of work.
#[derive(Default)]
struct Tail {
    watch_s: Option<i64>,
    until: Option<Timestamp>,
    uncertain: bool,
    checks_every_s: Option<i64>,
    checks_until: Option<Timestamp>,
    sources: Vec<Citation>,
}

impl Tail {
    fn of(situation: &Situation<'_>, work: &HotWork, terms: &mut Terms) -> Self {
        let mut tail = Self::default();
        let focus = Focus { outage: None, hot_work: Some(work) };
        let mut lengths = Vec::new();
        for judged in situation.values(Demand::AfterWork, focus) {
            tail.length(&judged, work, &mut lengths, terms);
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

    fn length(
        &mut self,
        judged: &Judged<'_>,
        work: &HotWork,
        lengths: &mut Vec<Candidate>,
        terms: &mut Terms,
    ) {
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
                if work.last_spark.is_none() || !terms.because.contains(&reason) {
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
            self.until = Some(until);
            terms.because.push(Because::WatchedUntil { last_spark, until, source: winner.source });
        }
    }

    fn checks(&mut self, judged: &Judged<'_>, work: &HotWork) {
        let found = judged.found;
        self.sources.push(found.citation());
        self.checks_every_s =
            strictest_spacing(self.checks_every_s, found.seconds(found.value.every));
        // They follow the continuous watch that the same source asks for, or the longest other one.
        let begins = self.until.or(work.last_spark);
        let ends = begins.and_then(|begins| later(begins, found.seconds(found.value.at_least)?));
        self.checks_until = self.checks_until.max(ends);
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

/// An order of the authority settles what a code leaves open; others only add.
fn by_order(
    situation: &Situation<'_>,
    terms: &mut Terms,
    after: &mut AfterWork,
    uncertain: &mut bool,
) {
    let code = after.sources.first().cloned();
    let from_code = |value: Option<i64>| {
        let source = code.clone().unwrap_or_else(Citation::ours);
        value.map(|value| Candidate::code(value, source))
    };
    let mut untils: Vec<Candidate> =
        from_code(after.at_least_until.map(Timestamp::as_millisecond)).into_iter().collect();
    let mut everies: Vec<Candidate> = from_code(after.checks_every_s).into_iter().collect();
    let mut check_ends: Vec<Candidate> =
        from_code(after.checks_until.map(Timestamp::as_millisecond)).into_iter().collect();
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
    if let Some(winner) = &until.winner
        && winner.source.from == crate::codes::Origin::Authority
    {
        *uncertain = false;
    }
    let orders =
        [&until, &every, &ends].into_iter().filter_map(|resolved| resolved.winner.as_ref());
    after.sources.extend(
        orders.map(|winner| winner.source.clone()).filter(|source| *source != Citation::ours()),
    );
    after.at_least_until =
        until.winner.and_then(|winner| Timestamp::from_millisecond(winner.value).ok());
    after.checks_every_s = every.winner.map(|winner| winner.value);
    after.checks_until =
        ends.winner.and_then(|winner| Timestamp::from_millisecond(winner.value).ok());
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

fn strictest_spacing(held: Option<i64>, other: Option<i64>) -> Option<i64> {
    match (held, other) {
        (Some(held), Some(other)) => Some(held.min(other)),
        (held, other) => held.or(other),
    }
}

fn later(from: Timestamp, seconds: i64) -> Option<Timestamp> {
    from.checked_add(SignedDuration::from_secs(seconds)).ok()
}
