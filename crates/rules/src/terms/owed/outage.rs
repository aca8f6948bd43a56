//! Systems out of service: hours in the worst rolling stretch, hours expected, or the official's word.

use super::{Claim, instant, left_to};
use crate::codes::System;
use crate::standards::{Citation, Demand, Missing, Owed, Truth};
use crate::terms::Terms;
use crate::terms::because::Because;
use crate::terms::clock::{Outages, Stretch as Out};
use crate::terms::situation::{Focus, Judged, Situation};
use jiff::{SignedDuration, Timestamp};

/// One system by every rule about it.
pub(super) fn outage(
    situation: &Situation<'_>,
    system: System,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    let facts = situation.facts;
    let stated = || facts.outages.iter().filter(|outage| outage.system == system);
    if stated().next().is_none() {
        return;
    }
    let lasting = || stated().filter(|outage| outage.to.is_none_or(|to| facts.at <= to));
    let lasts = lasting().next().is_some();
    let caused = lasting().map(|outage| outage.from).max();
    // What is going to be out is asked about before it is: the authority's word is not got in the night.
    let planned = stated().map(|outage| outage.from).filter(|from| *from > facts.at).min();
    let focus = Focus { outage: Some(system), hot_work: None };
    let rules = situation.values(Demand::Outage, focus);
    if rules.is_empty() && lasts {
        terms.because.push(Because::NoRule { demand: Demand::Outage, system: Some(system) });
        claims.push(Claim::authority(None, caused));
    }
    for rule in rules {
        let value = rule.found.value;
        let out_now = stated()
            .any(|outage| outage.from <= facts.at && outage.to.is_none_or(|to| facts.at <= to));
        if let Truth::Unknown(missing) = rule.truth {
            if lasts {
                terms.because.push(Because::FactMissing {
                    demand: Demand::Outage,
                    missing,
                    source: rule.found.citation(),
                });
                claims.push(Claim::authority(Some(rule.found.citation()), caused));
            }
        } else if value.expected {
            expected(situation, system, &rule, terms, claims);
        } else if value.more_than.is_some() {
            counted(situation, system, &rule, terms, claims);
        } else if out_now || planned.is_some() {
            left_to(Demand::Outage, Some(system), &rule, terms);
            claims.push(Claim::authority(Some(rule.found.citation()), caused));
        }
    }
}

/// A rule that counts the hours out of service in a rolling stretch.
fn counted(
    situation: &Situation<'_>,
    system: System,
    rule: &Judged<'_>,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    const DAY_S: i64 = 86_400;
    let found = rule.found;
    let limit_s = found.seconds(found.value.more_than).unwrap_or(0);
    let window_s = found.seconds(found.value.within).unwrap_or(DAY_S);
    let (limit, window) = (limit_s.saturating_mul(1_000), window_s.saturating_mul(1_000));
    let at = situation.facts.at.as_millisecond();
    let known = outages(situation, system, at);
    let source = found.citation();
    restored(&known, system, at, (window, limit), &source, terms);

    let over = known.out_within(window, at) > limit || limit == 0;
    match known.holding(at).filter(|_| over) {
        Some(stretch) => {
            let since = known.passes(stretch, window, limit).unwrap_or(stretch.from);
            let since = instant(since).unwrap_or(situation.facts.at);
            if found.value.owed.is_some_and(Owed::leaves_it_open) {
                left_to(Demand::Outage, Some(system), rule, terms);
            } else {
                let out_s = known.out_within(window, at) / 1_000;
                let source = source.clone();
                terms.because.push(Because::OutOverLimit {
                    system,
                    out_s,
                    limit_s,
                    window_s,
                    since,
                    source,
                });
                terms.instead.extend(&found.value.instead);
            }
            let caused = instant(stretch.from);
            claims.push(Claim { caused, ..Claim::of(found.value.owed, Some(since), source) });
        }
        None => {
            // A planned outage is counted from its beginning, however far ahead that is.
            let last = situation.facts.outages.iter().map(|outage| outage.from.as_millisecond());
            let counted_from = last.max().unwrap_or(at).max(at);
            let ahead = outages(
                situation,
                system,
                counted_from.saturating_add(window).saturating_add(limit),
            );
            let next = ahead.stretches().iter().filter(|stretch| at <= stretch.to);
            let owed_from = next
                .filter_map(|stretch| ahead.passes(*stretch, window, limit))
                .next()
                .and_then(instant);
            if found.value.owed.is_some_and(Owed::leaves_it_open) && owed_from.is_some() {
                left_to(Demand::Outage, Some(system), rule, terms);
                claims.push(Claim::authority(Some(source), owed_from));
                return;
            }
            if found.value.owed == Some(Owed::Yes) {
                terms.owed_from = [terms.owed_from, owed_from].into_iter().flatten().min();
            }
            // Where one was owed and is over, that has been told; it is not "within the limit".
            let lasts = known.holding(at).is_some();
            let worst = if lasts { known.out_within(window, at) } else { known.worst(window) };
            if worst <= limit {
                let worst_s = worst / 1_000;
                terms.because.push(Because::OutWithinLimit {
                    system,
                    worst_s,
                    limit_s,
                    window_s,
                    owed_from,
                    source,
                });
            }
        }
    }
}

/// The outages of a system; one that lasts is counted to `open_end`.
fn outages(situation: &Situation<'_>, system: System, open_end: i64) -> Outages {
    let of = situation.facts.outages.iter().filter(|outage| outage.system == system);
    let stretches = of.map(|outage| {
        let from = outage.from.as_millisecond();
        Out { from, to: outage.to.map_or(open_end.max(from), Timestamp::as_millisecond) }
    });
    Outages::new(stretches.collect())
}

/// Watches that were owed and ended when the system came back, so that nobody reads silence as *never owed*.
fn restored(
    known: &Outages,
    system: System,
    at: i64,
    (window, limit): (i64, i64),
    source: &Citation,
    terms: &mut Terms,
) {
    for stretch in known.stretches().iter().filter(|stretch| stretch.to < at) {
        let since = known.passes(*stretch, window, limit).and_then(instant);
        if let (Some(since), Some(until)) = (since, instant(stretch.to)) {
            terms.because.push(Because::Restored { system, since, until, source: source.clone() });
        }
    }
}

/// A rule that counts how long the outage is going to last.
fn expected(
    situation: &Situation<'_>,
    system: System,
    rule: &Judged<'_>,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    let found = rule.found;
    let limit_s = found.seconds(found.value.more_than).unwrap_or(0);
    let limit = SignedDuration::from_secs(limit_s);
    let at = situation.facts.at;
    let lasting =
        situation.facts.outages.iter().filter(|outage| outage.to.is_none_or(|to| at <= to));
    for outage in lasting.filter(|outage| outage.system == system) {
        let source = found.citation();
        let length =
            outage.to.or(outage.expected_until).map(|ends| ends.duration_since(outage.from));
        if at.duration_since(outage.from).max(length.unwrap_or_default()) > limit {
            terms.because.push(Because::ExpectedOverLimit {
                system,
                limit_s,
                source: source.clone(),
            });
            if outage.from > at {
                terms.owed_from = [terms.owed_from, Some(outage.from)].into_iter().flatten().min();
                continue;
            }
            terms.instead.extend(&found.value.instead);
            claims.push(Claim::of(found.value.owed, Some(outage.from), source));
        } else if length.is_none() {
            let missing = Missing("outage.expected_until");
            terms.because.push(Because::FactMissing {
                demand: Demand::Outage,
                missing,
                source: source.clone(),
            });
            claims.push(Claim::authority(Some(source), Some(outage.from)));
        } else {
            terms.because.push(Because::DoesNotHold { demand: Demand::Outage, source });
        }
    }
}
