//! Hot work: while it runs, while it is watched afterwards, and where sprinklers are out.

use super::{Claim, certain, left_to, same, surely};
use crate::codes::Party;
use crate::standards::{Citation, Demand, Owed, Truth};
use crate::terms::Terms;
use crate::terms::because::Because;
use crate::terms::facts::HotWork;
use crate::terms::situation::{Focus, Judged, Situation};
use jiff::Timestamp;

pub(super) fn hot_work(
    situation: &Situation<'_>,
    work: &HotWork,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    let at = situation.facts.at;
    let focus = Focus { outage: None, hot_work: Some(work) };
    conflict(situation, work, focus, terms, claims);
    let after = &terms.after_work;
    let ended = work.last_spark.is_some_and(|spark| spark <= at);
    let known_end = after.watch_until.or(after.at_least_until).max(after.checks_until);
    let rules = situation.judged(Demand::HotWork, focus);
    let tails = situation.values(Demand::AfterWork, focus);
    if rules.is_empty() && situation.judged(Demand::AfterWork, focus).is_empty() {
        terms.because.push(Because::NoRule { demand: Demand::HotWork, system: None });
        claims.push(Claim::authority(None, work.began.or(work.last_spark)));
        return;
    }
    let uncertain = tails.iter().any(|judged| judged.found.value.at_least.is_none());
    let settled = after.watch_until.is_some();
    if ended && known_end.is_none_or(|end| at > end) {
        match known_end {
            _ if uncertain && !settled => {
                claims.push(Claim::authority(None, work.began.or(work.last_spark)))
            }
            Some(until) => {
                let source = after.sources.first().cloned().unwrap_or_else(Citation::ours);
                terms.because.push(Because::TailEnded { until, source });
            }
            // No tail is known: a survey ended it, or the sources speak only of the work itself.
            None if work.surveyed == Some(true) => {}
            None => {
                terms.because.push(Because::NoRule { demand: Demand::AfterWork, system: None });
                claims.push(Claim::authority(None, work.began.or(work.last_spark)));
            }
        }
        return;
    }
    let until = if uncertain && !settled { None } else { known_end };
    // Some sources speak of the time after work only: while it lasts they ask for a watch, whatever others leave open.
    if let Some(source) = tail_only(work, at, &rules, &tails) {
        let since = work.began.or(work.last_spark);
        claims.push(Claim { until, ..Claim::of(Some(Owed::Yes), since, source) });
    } else if rules.is_empty() {
        terms.because.push(Because::NoRule { demand: Demand::HotWork, system: None });
        claims.push(Claim::authority(None, work.began.or(work.last_spark)));
    }
    watched(work, rules, until, terms, claims);
}

/// The first source without a rule on hot work itself whose time after work has not passed.
fn tail_only(
    work: &HotWork,
    at: Timestamp,
    rules: &[Judged<'_>],
    tails: &[Judged<'_>],
) -> Option<Citation> {
    let lasts = |tail: &Judged<'_>| match (work.last_spark, tail.found.value.at_least) {
        (Some(spark), length) => tail
            .found
            .seconds(length)
            .is_some_and(|length_s| at.duration_since(spark).as_secs() <= length_s),
        (None, _) => true,
    };
    let own = |tail: &Judged<'_>| rules.iter().any(|rule| rule.found.profile == tail.found.profile);
    let mut open = tails.iter().filter(|tail| tail.truth == Truth::Yes && !own(tail));
    // Alone, it asks for a watch also where its number is somebody's to set, or checks go on after it.
    let asks = open.find(|tail| rules.is_empty() || lasts(tail));
    asks.map(|tail| tail.found.citation())
}

/// Hot work that runs, or whose tail lasts.
fn watched(
    work: &HotWork,
    rules: Vec<Judged<'_>>,
    until: Option<Timestamp>,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    let since = work.began.or(work.last_spark);
    let nothing_stated = work.combustibles.is_none()
        && work.openings.is_none()
        && work.easily_ignited.is_none()
        && work.metal_partition.is_none();
    let certain = certain(&rules);
    for rule in rules {
        let source = rule.found.citation();
        // Any one of the conditions of a source is enough: once one holds for sure, the others are not asked.
        if rule.truth != Truth::No
            && !surely(&rule)
            && certain.iter().any(|held| same(held, &rule.found))
        {
            continue;
        }
        match rule.truth {
            Truth::No => {
                terms.because.push(Because::DoesNotHold { demand: Demand::HotWork, source })
            }
            Truth::Unknown(missing) => {
                terms.because.push(Because::FactMissing {
                    demand: Demand::HotWork,
                    missing,
                    source: source.clone(),
                });
                // Nothing is stated that could spare the watch: the strictest reading holds.
                let owed =
                    if nothing_stated { rule.found.value.owed } else { Some(Owed::Authority) };
                claims.push(Claim { until, ..Claim::of(owed, since, source) });
            }
            Truth::Yes if rule.found.value.owed.is_some_and(Owed::leaves_it_open) => {
                left_to(Demand::HotWork, None, &rule, terms);
                claims.push(Claim { until, ..Claim::authority(Some(source), since) });
            }
            Truth::Yes => {
                terms.because.push(Because::Calls {
                    demand: Demand::HotWork,
                    system: None,
                    source: source.clone(),
                });
                claims.push(Claim { until, ..Claim::of(Some(Owed::Yes), since, source) });
            }
        }
    }
}

/// Hot work where sprinklers are out.
fn conflict(
    situation: &Situation<'_>,
    work: &HotWork,
    focus: Focus<'_>,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    if !situation.impaired(work) {
        return;
    }
    for rule in situation.values(Demand::HotWorkConflict, focus) {
        let source = rule.found.citation();
        let decides = rule.found.value.decides.unwrap_or(Party::Authority);
        terms.because.push(Because::Conflict { decides, source: source.clone() });
        claims.push(Claim::authority(Some(source), work.began.or(work.last_spark)));
    }
}
