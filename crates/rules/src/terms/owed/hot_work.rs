//! Hot work: while it runs, while it is watched afterwards, and where sprinklers are out.

use super::{Claim, certain, left_to, same, surely};
use crate::codes::Party;
use crate::standards::{Citation, Demand, Owed, Truth};
use crate::terms::because::Because;
use crate::terms::facts::HotWork;
use crate::terms::situation::{Focus, Judged, Situation};
use crate::terms::{Required, Terms};
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
    let speaks = |demand| situation.judged(demand, focus);
    let rules = speaks(Demand::HotWork);
    if rules.is_empty() && speaks(Demand::AfterWork).is_empty() {
        terms.because.push(Because::NoRule { demand: Demand::HotWork, system: None });
        claims.push(Claim::authority(None, work.began.or(work.last_spark)));
        return;
    }
    let uncertain = situation
        .values(Demand::AfterWork, focus)
        .iter()
        .any(|judged| judged.found.value.at_least.is_none());
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
    watched(work, rules, until, terms, claims);
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
    if rules.is_empty() {
        // The sources speak of the time after work only, and that time lasts.
        claims.push(Claim { required: Required::Yes, since, until, caused: since, source: None });
    }
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
