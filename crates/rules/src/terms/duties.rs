//! Whom to tell, what to write, when the log goes out, who may end the watch, what people on watch must have.

use super::because::Because;
use super::facts::Order;
use super::situation::{Focus, Situation};
use super::{Deliver, EndedBy, Need, Notify, StepOwed, Terms, Write, WriteOn};
use crate::codes::Medium;
use crate::standards::{Citation, Demand, InForce, Timing, Truth, Unit};
use jiff::civil::Time;
use jiff::{SignedDuration, Timestamp, ToSpan};

pub(super) fn gather(situation: &Situation<'_>, terms: &mut Terms) {
    for judged in situation.values(Demand::Notify, Focus::default()) {
        notify(situation, &judged.found, terms);
    }
    for judged in situation.values(Demand::LogContent, Focus::default()) {
        let source = judged.found.citation();
        terms.write.extend(
            judged
                .found
                .value
                .write
                .iter()
                .map(|item| Write { item: *item, source: source.clone() }),
        );
        if let Some(on) = judged.found.value.on {
            write_on(terms, on, source);
        }
    }
    for judged in situation.values(Demand::Delivery, Focus::default()) {
        let value = judged.found.value;
        let at_time: Option<Time> = value.at_time.as_deref().and_then(|time| time.parse().ok());
        let by = at_time.and_then(|time| next(situation, time));
        let (to, timing, source) = (
            value.parties.clone(),
            value.timing.unwrap_or(Timing::OnRequest),
            judged.found.citation(),
        );
        terms.deliver.push(Deliver { to, timing, at_time, by, source });
    }
    for judged in situation.values(Demand::WhoEnds, Focus::default()) {
        terms.ended_by.push(EndedBy {
            parties: judged.found.value.parties.clone(),
            source: judged.found.citation(),
        });
    }
    for judged in situation.values(Demand::Qualification, Focus::default()) {
        // A certificate that one place asks for of some people only is asked of all while it is unknown which they are.
        if let Truth::Unknown(missing) = judged.truth {
            let source = judged.found.citation();
            terms.because.push(Because::FactMissing {
                demand: Demand::Qualification,
                missing,
                source,
            });
        }
        let source = judged.found.citation();
        terms.need.extend(
            judged.found.value.need.iter().map(|need| Need { need: *need, source: source.clone() }),
        );
    }
    steps(situation, terms);
    for order in situation.orders() {
        by_order(situation, order, terms);
    }
}

fn notify(situation: &Situation<'_>, found: &InForce<'_>, terms: &mut Terms) {
    let timing = found.value.timing.unwrap_or(Timing::AtOnce);
    let first_loss = situation.out_now().map(|outage| outage.from).min();
    let by = match timing {
        Timing::AtOnce => first_loss,
        Timing::Within => {
            first_loss.and_then(|from| later(from, found.seconds(found.value.within)?))
        }
        _ => None,
    };
    let days_ahead = (timing == Timing::Before).then_some(found.value.within).flatten();
    // Hours ahead are told in days of 24 hours; working days stay what they are.
    let days_ahead = match found.file.unit {
        Some(Unit::H) => days_ahead.map(|hours| (hours + 23) / 24),
        _ => days_ahead,
    };
    let working_days = found.file.unit == Some(Unit::BusinessDay);
    for party in &found.value.parties {
        let owed = Notify {
            party: *party,
            timing,
            by,
            days_ahead,
            working_days,
            source: found.citation(),
        };
        if !terms.notify.contains(&owed) {
            terms.notify.push(owed);
        }
    }
}

fn steps(situation: &Situation<'_>, terms: &mut Terms) {
    // Steps are owed while a system is out; a planned outage has them ahead of it.
    if situation
        .facts
        .outages
        .iter()
        .all(|outage| outage.to.is_some_and(|to| to < situation.facts.at))
    {
        return;
    }
    for (demand, at_restoration) in
        [(Demand::ImpairmentSteps, false), (Demand::RestorationSteps, true)]
    {
        for judged in situation.values(demand, Focus::default()) {
            let source = judged.found.citation();
            let owed = judged.found.value.steps.iter();
            terms.steps.extend(owed.map(|step| StepOwed {
                at_restoration,
                step: *step,
                source: source.clone(),
            }));
        }
    }
}

fn by_order(situation: &Situation<'_>, order: &Order, terms: &mut Terms) {
    let source = Citation::order(order);
    for party in &order.notify {
        let source = source.clone();
        terms.notify.push(Notify {
            party: *party,
            timing: Timing::AtOnce,
            by: order.at,
            days_ahead: None,
            working_days: false,
            source,
        });
    }
    terms
        .write
        .extend(order.write.iter().map(|item| Write { item: *item, source: source.clone() }));
    if let Some(on) = order.on {
        write_on(terms, on, source.clone());
    }
    if let Some(time) = order.deliver {
        let (timing, by) = (Timing::Daily, next(situation, time));
        terms.deliver.push(Deliver { to: Vec::new(), timing, at_time: Some(time), by, source });
    }
}

/// Two media asked for by two sources are both.
fn write_on(terms: &mut Terms, on: Medium, source: Citation) {
    match &mut terms.on {
        Some(held) if held.on != on => held.on = Medium::Both,
        Some(_) => {}
        None => terms.on = Some(WriteOn { on, source }),
    }
}

/// The next instant at which the clock of the site shows this time.
fn next(situation: &Situation<'_>, time: Time) -> Option<Timestamp> {
    let now = situation.facts.local();
    let today = now.time_zone().to_zoned_datetime(now.date().to_datetime(time)).ok()?;
    if today > now {
        return Some(today.timestamp());
    }
    let tomorrow = now.date().checked_add(1.day()).ok()?;
    Some(now.time_zone().to_zoned_datetime(tomorrow.to_datetime(time)).ok()?.timestamp())
}

fn later(from: Timestamp, seconds: i64) -> Option<Timestamp> {
    from.checked_add(SignedDuration::from_secs(seconds)).ok()
}
