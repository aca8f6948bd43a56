//! Orders: who may ask for a watch, spare one, and end one.

use super::Claim;
use crate::codes::{Origin, ZoneKind};
use crate::standards::Citation;
use crate::terms::because::{Because, GaveWay, GaveWayTo, TermName, TermValue};
use crate::terms::facts::Order;
use crate::terms::situation::Situation;
use crate::terms::{Required, Terms};
use jiff::Timestamp;

/// Orders: the authority's decide, others only add.
pub(super) fn orders(situation: &Situation<'_>, terms: &mut Terms, claims: &mut Vec<Claim>) {
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
