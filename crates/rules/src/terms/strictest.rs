//! The strictest wins, only the authority loosens, and what gave way is shown.

use super::because::{Because, GaveWay, GaveWayTo, TermName, TermValue};
use super::facts::Order;
use super::situation::{Focus, Situation};
use super::{Bound, Gap, OtherDuties, Required, Terms};
use crate::codes::{Origin, ZoneKind};
use crate::standards::{Citation, Demand, InForce, Truth};
use jiff::Timestamp;

/// A value that asks to be in force.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) value: i64,
    pub(super) source: Citation,
    /// When an order was given; a code has no such time.
    pub(super) given: Option<Timestamp>,
    /// An order for this very kind of zone, not for every zone.
    closer: bool,
}

/// Which of two values asks for more.
#[derive(Debug, Clone, Copy)]
pub(super) enum Stricter {
    Less,
    More,
}

/// What is in force, and what gave way to it.
pub(super) struct Resolved {
    pub(super) winner: Option<Candidate>,
    pub(super) gave_way: Vec<(Candidate, GaveWayTo)>,
}

impl Candidate {
    pub(super) fn code(value: i64, source: Citation) -> Self {
        Self { value, source, given: None, closer: false }
    }

    pub(super) fn order(value: i64, order: &Order) -> Self {
        Self { value, source: Citation::order(order), given: order.at, closer: false }
    }

    /// An order that loosens a code must say who gave it and when.
    fn named_and_timed(&self) -> bool {
        self.given.is_some() && !self.source.source.is_empty()
    }
}

impl Stricter {
    pub(super) fn than(self, value: i64, other: i64) -> bool {
        match self {
            Self::Less => value < other,
            Self::More => value > other,
        }
    }
}

pub(super) fn resolve(candidates: Vec<Candidate>, stricter: Stricter) -> Resolved {
    let mut gave_way = Vec::new();
    let (codes, orders): (Vec<_>, Vec<_>) =
        candidates.into_iter().partition(|c| c.source.from == Origin::Code);
    let (mut authority, rest): (Vec<_>, Vec<_>) =
        orders.into_iter().partition(|c| c.source.from == Origin::Authority);
    let mut winner = tightened(None, codes, stricter, GaveWayTo::Stricter, &mut gave_way);

    // Orders without a time come first: a timed one is later than they are. `sort_by_key` keeps the written order of equals.
    authority.sort_by_key(|order| order.given);
    let mut held: Option<Candidate> = None;
    for order in authority {
        match may_hold(&order, held.as_ref(), winner.as_ref(), stricter) {
            Err(reason) => gave_way.push((order, reason)),
            Ok(()) => {
                gave_way.extend(held.replace(order).map(|order| (order, GaveWayTo::LaterOrder)))
            }
        }
    }
    if let Some(order) = held
        && let Some(code) = winner.replace(order)
        && winner.as_ref().is_some_and(|order| order.value != code.value)
    {
        gave_way.push((code, GaveWayTo::Authority));
    }
    let winner =
        tightened(winner, rest, stricter, GaveWayTo::OnlyTheAuthorityLoosens, &mut gave_way);
    Resolved { winner, gave_way }
}

/// Whether an order of the authority replaces what is in force before it, a code or an earlier order: it may loosen
/// either, but only with a name and a time, and one for every zone does not loosen what was ordered for this kind.
fn may_hold(
    order: &Candidate,
    held: Option<&Candidate>,
    code: Option<&Candidate>,
    stricter: Stricter,
) -> Result<(), GaveWayTo> {
    let loosens = held.or(code).is_some_and(|before| stricter.than(before.value, order.value));
    if loosens && !order.named_and_timed() {
        return Err(GaveWayTo::NeedsNameAndTime);
    }
    if loosens && held.is_some_and(|before| before.closer) && !order.closer {
        return Err(GaveWayTo::Stricter);
    }
    Ok(())
}

/// Lets each candidate tighten what is in force; one that would loosen gives way for `reason`.
fn tightened(
    mut winner: Option<Candidate>,
    candidates: Vec<Candidate>,
    stricter: Stricter,
    reason: GaveWayTo,
    gave_way: &mut Vec<(Candidate, GaveWayTo)>,
) -> Option<Candidate> {
    for candidate in candidates {
        match &winner {
            Some(held) if stricter.than(held.value, candidate.value) => {
                gave_way.push((candidate, reason))
            }
            Some(held) if stricter.than(candidate.value, held.value) => {
                gave_way
                    .extend(winner.replace(candidate).map(|looser| (looser, GaveWayTo::Stricter)));
            }
            Some(_) => {}
            None => winner = Some(candidate),
        }
    }
    winner
}

/// The terms that are one number.
pub(super) fn numbers(situation: &Situation<'_>, terms: &mut Terms) {
    gaps(situation, terms);
    terms.first_round =
        bound(situation, terms, Demand::FirstRound, TermName::FirstRound, Stricter::Less, |o| {
            o.first_round_s
        });
    terms.people = bound(situation, terms, Demand::People, TermName::People, Stricter::More, |o| {
        o.people_at_least
    });
    terms.retain = retain(situation, terms);
    terms.other_records = other_records(situation);
    terms.other_duties = other_duties(situation, terms);
    terms.crowd_managers = crowd_managers(situation, terms);
}

fn gaps(situation: &Situation<'_>, terms: &mut Terms) {
    let mut kinds = vec![ZoneKind::All];
    kinds.extend(situation.orders().iter().map(|order| order.zone_kind));
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds {
        let mut candidates = Vec::new();
        for judged in situation.values(Demand::LongestGap, Focus::default()) {
            if let Some(gap_s) = judged.found.seconds(judged.found.value.at_most) {
                candidates.push(Candidate::code(gap_s, judged.found.citation()));
            }
        }
        let speaks = |order: &&&Order| order.zone_kind == kind || order.zone_kind == ZoneKind::All;
        let orders = situation.orders();
        for order in orders.iter().filter(speaks) {
            let closer = kind != ZoneKind::All && order.zone_kind == kind;
            let ordered = |gap_s| Candidate { closer, ..Candidate::order(gap_s, order) };
            candidates.extend(order.gap_s.map(ordered));
        }
        let resolved = resolve(candidates, Stricter::Less);
        shown(terms, &resolved, TermName::Gap, kind, TermValue::Seconds);
        if let Some(winner) = resolved.winner {
            terms.gaps.push(Gap { zones: kind, gap_s: winner.value, source: winner.source });
        }
    }
    // A kind whose gap is that of every zone says nothing of its own.
    let every = terms.gaps.iter().find(|gap| gap.zones == ZoneKind::All).map(|gap| gap.gap_s);
    terms.gaps.retain(|gap| gap.zones == ZoneKind::All || Some(gap.gap_s) != every);
    missing_facts(situation, terms, Demand::LongestGap);
    without_number(situation, terms);
}

/// Sources that speak of rounds and state no number: *constant*, or *the authority decides*.
fn without_number(situation: &Situation<'_>, terms: &mut Terms) {
    for judged in situation.values(Demand::LongestGap, Focus::default()) {
        if judged.found.value.at_most.is_none() {
            terms.because.push(Because::NoNumber {
                demand: Demand::LongestGap,
                decides: judged.found.value.decides,
                source: judged.found.citation(),
            });
        }
    }
    if terms.gaps.is_empty() && terms.required != Required::NoneFound {
        terms.because.push(Because::NoGapStated);
    }
}

/// Names the missing facts because of which a value was taken as if its condition held.
fn missing_facts(situation: &Situation<'_>, terms: &mut Terms, demand: Demand) {
    for judged in situation.values(demand, Focus::default()) {
        if let Truth::Unknown(missing) = judged.truth {
            let reason = Because::FactMissing { demand, missing, source: judged.found.citation() };
            if !terms.because.contains(&reason) {
                terms.because.push(reason);
            }
        }
    }
}

fn bound(
    situation: &Situation<'_>,
    terms: &mut Terms,
    demand: Demand,
    name: TermName,
    stricter: Stricter,
    of_order: fn(&Order) -> Option<i64>,
) -> Option<Bound> {
    let value = |found: &InForce<'_>| {
        let number = found.value.at_most.or(found.value.at_least)?;
        if name == TermName::People { Some(number) } else { found.seconds(Some(number)) }
    };
    let mut candidates = Vec::new();
    for judged in situation.values(demand, Focus::default()) {
        match value(&judged.found) {
            Some(number) => candidates.push(Candidate::code(number, judged.found.citation())),
            None => terms.because.push(Because::NoNumber {
                demand,
                decides: judged.found.value.decides,
                source: judged.found.citation(),
            }),
        }
    }
    for order in situation.orders() {
        candidates.extend(of_order(order).map(|number| Candidate::order(number, order)));
    }
    let resolved = resolve(candidates, stricter);
    let of = if name == TermName::People { TermValue::People } else { TermValue::Seconds };
    shown(terms, &resolved, name, ZoneKind::All, of);
    missing_facts(situation, terms, demand);
    resolved.winner.map(|winner| Bound::new(winner.value, winner.source))
}

/// The longest keeping that a source in force asks for, and of which records that source speaks.
fn retain(situation: &Situation<'_>, terms: &mut Terms) -> Option<Bound> {
    let (demand, name) = (Demand::Retention, TermName::Retain);
    let longest = bound(situation, terms, demand, name, Stricter::More, |order| order.retain_s)?;
    let stated = situation.values(demand, Focus::default());
    let of = stated.iter().find(|judged| judged.found.citation() == longest.source);
    Some(Bound { records: of.and_then(|judged| judged.found.value.records), ..longest })
}

fn other_records(situation: &Situation<'_>) -> Vec<Bound> {
    let values = situation.values(Demand::OtherRetention, Focus::default());
    let kept = values.iter().filter_map(|judged| {
        let value = judged.found.seconds(judged.found.value.at_least)?;
        let records = judged.found.value.records;
        Some(Bound { records, ..Bound::new(value, judged.found.citation()) })
    });
    kept.collect()
}

/// Not allowed is the stricter answer.
fn other_duties(situation: &Situation<'_>, terms: &mut Terms) -> Option<OtherDuties> {
    let mut candidates = Vec::new();
    for judged in situation.values(Demand::OtherDuties, Focus::default()) {
        candidates.extend(
            judged
                .found
                .value
                .allowed
                .map(|allowed| Candidate::code(i64::from(allowed), judged.found.citation())),
        );
    }
    for order in situation.orders() {
        candidates
            .extend(order.other_duties.map(|allowed| Candidate::order(i64::from(allowed), order)));
    }
    let resolved = resolve(candidates, Stricter::Less);
    shown(terms, &resolved, TermName::OtherDuties, ZoneKind::All, |allowed| {
        TermValue::Flag(allowed != 0)
    });
    resolved.winner.map(|winner| OtherDuties { allowed: winner.value != 0, source: winner.source })
}

/// At least so many, and one for each so many persons or part of it.
fn crowd_managers(situation: &Situation<'_>, terms: &mut Terms) -> Option<Bound> {
    let crowd = situation.facts.building.crowd?;
    let values = situation.values(Demand::CrowdManagers, Focus::default());
    // An exemption that holds for sure beats the general rule of the same file.
    if values
        .iter()
        .any(|judged| judged.found.value.allowed == Some(true) && judged.truth == Truth::Yes)
    {
        return None;
    }
    missing_facts(situation, terms, Demand::CrowdManagers);
    let needed = values.iter().filter_map(|judged| {
        let least = judged.found.value.at_least?;
        let by_crowd =
            judged.found.value.per.filter(|per| *per > 0).map_or(0, |per| (crowd + per - 1) / per);
        Some(Bound::new(least.max(by_crowd), judged.found.citation()))
    });
    needed.max_by_key(|bound| bound.value)
}

/// Puts what gave way among the terms, each once.
pub(super) fn shown(
    terms: &mut Terms,
    resolved: &Resolved,
    term: TermName,
    zones: ZoneKind,
    value: fn(i64) -> TermValue,
) {
    for (candidate, to) in &resolved.gave_way {
        let gave_way = GaveWay {
            term,
            zones,
            value: value(candidate.value),
            source: candidate.source.clone(),
            to: *to,
        };
        let said = |other: &GaveWay| {
            other.term == term && other.value == gave_way.value && other.source == gave_way.source
        };
        if !terms.gave_way.iter().any(said) {
            terms.gave_way.push(gave_way);
        }
    }
}
