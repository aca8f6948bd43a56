//! Whether a watch is owed, since when, and why. When in doubt the answer is *authority*, never *none found*.

use super::because::{Because, GaveWay, GaveWayTo, TermName, TermValue};
use super::clock::{Outages, Stretch as Out};
use super::facts::{HotWork, Order};
use super::hours::Week;
use super::situation::{Focus, Judged, Situation};
use super::{Required, Stretch, Terms};
use crate::codes::{Origin, Party, System, ZoneKind};
use crate::standards::{Citation, Demand, Owed, Truth};
use jiff::{SignedDuration, Timestamp};

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
        outage(situation, *system, terms, &mut claims);
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
        hot_work(situation, work, terms, &mut claims);
    }
    orders(situation, terms, &mut claims);
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
    let ends: Option<Vec<Timestamp>> = owed().map(|claim| claim.until).collect();
    terms.until = ends.and_then(|ends| ends.into_iter().max());
}

/// One system by every rule about it.
fn outage(situation: &Situation<'_>, system: System, terms: &mut Terms, claims: &mut Vec<Claim>) {
    let facts = situation.facts;
    let stated = || facts.outages.iter().filter(|outage| outage.system == system);
    if stated().next().is_none() {
        return;
    }
    let lasting = || stated().filter(|outage| outage.to.is_none_or(|to| facts.at <= to));
    let lasts = lasting().next().is_some();
    let caused = lasting().map(|outage| outage.from).max();
    let focus = Focus { outage: Some(system), hot_work: None };
    let rules = situation.values(Demand::Outage, focus);
    if rules.is_empty() {
        if lasts {
            terms.because.push(Because::NoRule { demand: Demand::Outage, system: Some(system) });
            claims.push(Claim::authority(None, caused));
        }
        return;
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
        } else if out_now {
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
            let ahead = outages(situation, system, at.saturating_add(window).saturating_add(limit));
            let next = ahead.stretches().iter().filter(|stretch| at <= stretch.to);
            let owed_from = next
                .filter_map(|stretch| ahead.passes(*stretch, window, limit))
                .next()
                .and_then(instant);
            if found.value.owed == Some(Owed::Yes) {
                terms.owed_from = [terms.owed_from, owed_from].into_iter().flatten().min();
            }
            // Where one was owed and is over, that has been told; it is not "within the limit".
            let lasts = known.holding(at).is_some();
            let worst =
                if lasts { known.out_within(window, at) } else { known.worst(window).out_ms };
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
    for outage in situation.out_now().filter(|outage| outage.system == system) {
        let source = found.citation();
        let length =
            outage.to.or(outage.expected_until).map(|ends| ends.duration_since(outage.from));
        if at.duration_since(outage.from).max(length.unwrap_or_default()) > limit {
            terms.because.push(Because::ExpectedOverLimit {
                system,
                limit_s,
                source: source.clone(),
            });
            terms.instead.extend(&found.value.instead);
            claims.push(Claim::of(found.value.owed, Some(outage.from), source));
        } else if length.is_none() {
            let missing = crate::standards::Missing("outage.expected_until");
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
    for rule in rules {
        let source = rule.found.citation();
        match rule.truth {
            Truth::No => terms.because.push(Because::DoesNotHold { demand, source }),
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

fn hot_work(situation: &Situation<'_>, work: &HotWork, terms: &mut Terms, claims: &mut Vec<Claim>) {
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
    for rule in rules {
        let source = rule.found.citation();
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
                claims.push(Claim::authority(Some(source), since));
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

fn left_to(demand: Demand, system: Option<System>, rule: &Judged<'_>, terms: &mut Terms) {
    let decides = rule.found.value.decides.unwrap_or(Party::Authority);
    terms.because.push(Because::LeftTo { demand, system, decides, source: rule.found.citation() });
}

/// Orders: the authority's decide, others only add.
fn orders(situation: &Situation<'_>, terms: &mut Terms, claims: &mut Vec<Claim>) {
    for order in situation.facts.orders.iter().filter(|order| !situation.in_force_now(order)) {
        terms.because.push(Because::NotInForce { source: Citation::order(order) });
    }
    for order in situation.orders() {
        let source = Citation::order(order);
        if order.watch == Some(false)
            || order.released.is_some_and(|released| released <= situation.facts.at)
        {
            match may_end(order) {
                Ok(given) => ended(order, given, source, terms, claims),
                Err(to) => terms.gave_way.push(required_gave_way(false, source, to)),
            }
        } else if let Some(claim) = ordered(order, claims) {
            terms.because.push(Because::Ordered { source });
            claims.extend(claim);
        }
    }
}

/// The instant of an order that may end or spare a watch, or why it may not.
fn may_end(order: &Order) -> Result<Timestamp, GaveWayTo> {
    match (order.from, order.at, &order.by) {
        (Origin::Authority, Some(given), Some(_)) => Ok(given),
        (Origin::Authority, ..) => Err(GaveWayTo::NeedsNameAndTime),
        _ => Err(GaveWayTo::OnlyTheAuthorityLoosens),
    }
}

/// A release ends what was owed by then; a waiver spares whatever had begun by then. What comes later stands.
fn ended(
    order: &Order,
    given: Timestamp,
    source: Citation,
    terms: &mut Terms,
    claims: &mut Vec<Claim>,
) {
    let later = |claim: &Claim| match order.released {
        Some(released) => claim.since.or(claim.caused).is_some_and(|since| since > released),
        None => claim.caused.is_some_and(|caused| caused > given),
    };
    let (stands, gone): (Vec<Claim>, Vec<Claim>) = claims.drain(..).partition(later);
    *claims = stands;
    terms.because.push(match order.released {
        Some(at) => Because::Released { at, source },
        None => Because::Waived { source },
    });
    for claim in gone.into_iter().filter(|claim| claim.required == Required::Yes) {
        if let Some(source) = claim.source {
            terms.gave_way.push(required_gave_way(true, source, GaveWayTo::Authority));
        }
    }
}

fn required_gave_way(flag: bool, source: Citation, to: GaveWayTo) -> GaveWay {
    GaveWay {
        term: TermName::Required,
        zones: ZoneKind::All,
        value: TermValue::Flag(flag),
        source,
        to,
    }
}

/// The claim of an order that asks for a watch: `None` when it asks for none. An order of the authority that only sets how
/// a watch is kept orders one where nothing else did; so does a client's where nothing is open either.
fn ordered(order: &Order, claims: &[Claim]) -> Option<Option<Claim>> {
    let source = Some(Citation::order(order));
    let (since, until) = (order.at, order.until);
    let claim = Claim { required: Required::Yes, since, until, caused: since, source };
    let owed = claims.iter().any(|claim| claim.required == Required::Yes);
    match (order.watch, order.from) {
        (Some(true), _) => Some(Some(claim)),
        (_, Origin::Authority) if order.sets_how_a_watch_is_kept() => {
            Some((!owed).then_some(claim))
        }
        (_, Origin::Client | Origin::Contract)
            if order.sets_how_a_watch_is_kept() && claims.is_empty() =>
        {
            Some(Some(claim))
        }
        _ => None,
    }
}

fn instant(ms: i64) -> Option<Timestamp> {
    Timestamp::from_millisecond(ms).ok()
}
