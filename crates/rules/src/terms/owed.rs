//! Whether a watch is owed, since when, and why. When in doubt the answer is *authority*, never *none found*.

mod hot_work;
mod orders;
mod outage;

use super::because::Because;
use super::hours::Week;
use super::situation::{Focus, Judged, Situation};
use super::{Required, Stretch, Terms};
use crate::codes::{Party, System};
use crate::standards::{Citation, Demand, InForce, Owed, Truth};
use jiff::Timestamp;

/// What one source, about one fact, says.
struct Claim {
    required: Required,
    since: Option<Timestamp>,
    until: Option<Timestamp>,
    /// When what calls for it began; a site has no such instant.
    caused: Option<Timestamp>,
    source: Option<Citation>,
}

pub(super) fn judge(situation: &Situation<'_>, terms: &mut Terms) {
    let mut claims = Vec::new();
    if situation.in_force.iter().all(|found| found.demand() == Demand::AdoptedCode) {
        terms.because.push(Because::NothingInForce);
        claims.push(Claim::authority(None, None));
    }
    for system in System::ALL {
        outage::outage(situation, *system, terms, &mut claims);
    }
    if situation.facts.construction.is_some() {
        conditional(situation, Demand::Construction, Focus::default(), terms, &mut claims);
    }
    if situation.facts.building.crowd.is_some_and(|crowd| crowd > 0) {
        conditional(situation, Demand::Gathering, Focus::default(), terms, &mut claims);
    }
    if situation.facts.building.nuisance_alarms == Some(true) {
        conditional(situation, Demand::NuisanceAlarms, Focus::default(), terms, &mut claims);
    }
    for work in &situation.facts.hot_work {
        hot_work::hot_work(situation, work, terms, &mut claims);
    }
    orders::orders(situation, terms, &mut claims);
    settle(terms, &claims);
}

impl Claim {
    fn authority(source: Option<Citation>, caused: Option<Timestamp>) -> Self {
        Self { required: Required::Authority, since: None, until: None, caused, source }
    }

    fn of(owed: Option<Owed>, since: Option<Timestamp>, source: Citation) -> Self {
        match owed {
            Some(Owed::Yes) => Self {
                required: Required::Yes,
                since,
                until: None,
                caused: since,
                source: Some(source),
            },
            _ => Self::authority(Some(source), since),
        }
    }
}

fn settle(terms: &mut Terms, claims: &[Claim]) {
    terms.required = claims.iter().map(|claim| claim.required).max().unwrap_or(Required::NoneFound);
    if terms.required != Required::Yes {
        terms.instead.clear();
        return;
    }
    terms.owed_from = None;
    let owed = || claims.iter().filter(|claim| claim.required == Required::Yes);
    terms.since = owed().filter_map(|claim| claim.since).min();
    // What has begun and is left to somebody may last longer than what has a number: no end is told while one of those is open.
    let lasts = |claim: &&Claim| claim.required == Required::Yes || claim.caused.is_some();
    let ends: Option<Vec<Timestamp>> =
        claims.iter().filter(lasts).map(|claim| claim.until).collect();
    terms.until = ends.and_then(|ends| ends.into_iter().max());
}

/// The condition holds and a watch is owed, at nobody's discretion.
fn surely(rule: &Judged<'_>) -> bool {
    rule.truth == Truth::Yes && !rule.found.value.owed.is_some_and(Owed::leaves_it_open)
}

/// The values that surely call for a watch.
fn certain<'a>(rules: &[Judged<'a>]) -> Vec<InForce<'a>> {
    rules.iter().filter(|rule| surely(rule)).map(|rule| rule.found).collect()
}

/// Two values of one file under one profile.
fn same(one: &InForce<'_>, other: &InForce<'_>) -> bool {
    one.profile == other.profile && std::ptr::eq(one.file, other.file)
}

/// A demand that holds or not by the facts alone.
fn conditional(
    situation: &Situation<'_>,
    demand: Demand,
    focus: Focus<'_>,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    let rules = situation.judged(demand, focus);
    if rules.is_empty() {
        terms.because.push(Because::NoRule { demand, system: None });
        claims.push(Claim::authority(None, None));
    }
    let certain = certain(&rules);
    for rule in rules {
        let source = rule.found.citation();
        match rule.truth {
            Truth::No => terms.because.push(Because::DoesNotHold { demand, source }),
            // Any one of the conditions of a source is enough: once one holds for sure, no fact is missing.
            Truth::Unknown(_) if certain.iter().any(|held| same(held, &rule.found)) => {}
            Truth::Unknown(missing) => {
                terms.because.push(Because::FactMissing {
                    demand,
                    missing,
                    source: source.clone(),
                });
                claims.push(Claim::authority(Some(source), None));
            }
            Truth::Yes => {
                let mut claim = Claim::of(rule.found.value.owed, None, source.clone());
                if rule.found.value.owed.is_some_and(Owed::leaves_it_open) {
                    left_to(demand, None, &rule, terms);
                } else {
                    terms.because.push(Because::Calls { demand, system: None, source });
                }
                if rule.found.value.non_working {
                    non_working(situation, &rule, terms, &mut claim);
                }
                claims.push(claim);
            }
        }
    }
}

/// The stretches in which nobody works. Without stated hours none is left out.
fn non_working(situation: &Situation<'_>, rule: &Judged<'_>, terms: &mut Terms, claim: &mut Claim) {
    let site = situation.facts.construction.as_ref();
    let hours: Option<&Week> = site.and_then(|site| site.hours.as_ref());
    let source = rule.found.citation();
    terms.because.push(Because::NonWorkingHours { known: hours.is_some(), source });
    let (Some(hours), Some(site)) = (hours, site) else { return };
    let periods = hours.between(&situation.facts.local(), &site.holidays);
    terms.stretches = periods
        .iter()
        .map(|period| Stretch { from: period.from.timestamp(), to: period.to.timestamp() })
        .collect();
    if let Some(first) = terms.stretches.first() {
        claim.since = Some(first.from);
        claim.until = Some(first.to);
    }
}

fn left_to(demand: Demand, system: Option<System>, rule: &Judged<'_>, terms: &mut Terms) {
    let decides = rule.found.value.decides.unwrap_or(Party::Authority);
    terms.because.push(Because::LeftTo { demand, system, decides, source: rule.found.citation() });
}

fn instant(ms: i64) -> Option<Timestamp> {
    Timestamp::from_millisecond(ms).ok()
}
