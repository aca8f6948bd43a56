//! Which alerts are owed and not yet written. Pure: a standing in, statements out.

use crate::book::Book;
use crate::scribe::Statement;
use crate::standing::{Raised, Standing};
use record::{AlertCause, Alerted, Channel, Entry, Unheard, ZoneId};

/// The alerts that a watch owes at an instant, with withdrawals of those that proved needless.
pub(crate) fn owed(standing: &Standing, book: &Book, now_ms: i64) -> Vec<Statement> {
    let mut owed = Vec::new();
    if !standing.is_over(now_ms) {
        owed.extend(fire(standing));
        owed.extend(not_arrived(standing, now_ms));
        owed.extend(late_or_unheard(standing, book, now_ms));
        owed.extend(questions(standing));
    }
    owed.extend(withdrawn(standing));
    owed
}

fn fire(standing: &Standing) -> Option<Statement> {
    let fire = standing.fire.as_ref()?;
    let known =
        |raised: &Raised| raised.cause == AlertCause::Emergency && raised.of == Some(fire.line);
    if standing.alerts.iter().any(known) {
        return None;
    }
    Some(alert(AlertCause::Emergency, None, fire.at_ms, Some(fire.line)).into())
}

/// Nobody has begun although the watch is owed.
fn not_arrived(standing: &Standing, now_ms: i64) -> Option<Statement> {
    let missing = !standing.begun && standing.from_ms <= now_ms;
    if !missing || alerted(standing, AlertCause::NotArrived, None, standing.from_ms) {
        return None;
    }
    Some(alert(AlertCause::NotArrived, None, standing.from_ms, None).into())
}

/// A zone past its gap is late when its phone is in touch. Of a phone out of touch nothing is known,
/// so nothing is called missed: it is not heard from.
fn late_or_unheard(standing: &Standing, book: &Book, now_ms: i64) -> Vec<Statement> {
    if !standing.begun {
        return Vec::new();
    }
    let on_duty = &standing.on_duty;
    // With nobody on duty there is no phone to wait for.
    let in_touch = on_duty.is_empty() || on_duty.iter().any(|duty| book.in_touch(duty.dev, now_ms));
    let mut owed = Vec::new();
    for due in standing.over(now_ms) {
        let zone = Some(due.zone.clone());
        let cause = if in_touch { AlertCause::Late } else { AlertCause::Unheard };
        let late_already = alerted(standing, AlertCause::Late, zone.as_ref(), due.due_ms);
        if late_already || alerted(standing, cause, zone.as_ref(), due.due_ms) {
            continue;
        }
        if cause == AlertCause::Unheard {
            let device = on_duty.first().map(|duty| duty.dev);
            let heard = device.and_then(|dev| book.any_device(dev)?.heard_ms);
            let since_ms = heard.unwrap_or(due.since_ms);
            owed.push(Unheard { device, zone: zone.clone(), since_ms, due_ms: due.due_ms }.into());
        }
        owed.push(alert(cause, zone, due.due_ms, None).into());
    }
    owed
}

fn questions(standing: &Standing) -> Vec<Statement> {
    let asked = standing.questions.iter().filter(|question| {
        let known =
            |raised: &Raised| raised.cause == AlertCause::Asked && raised.of == Some(question.line);
        !standing.alerts.iter().any(known)
    });
    asked.map(|q| alert(AlertCause::Asked, None, q.at_ms, Some(q.line)).into()).collect()
}

/// A look that came in afterwards shows that the zone was seen in time.
fn withdrawn(standing: &Standing) -> Vec<Statement> {
    let needless = |raised: &&Raised| {
        let Some(zone) = &raised.zone else { return false };
        if raised.withdrawn || !matches!(raised.cause, AlertCause::Late | AlertCause::Unheard) {
            return false;
        }
        let looks = standing.looks_ms.get(zone).map_or(&[][..], Vec::as_slice);
        let due = standing.due.iter().find(|due| due.zone == *zone);
        let Some(allowed_s) = due.map(|due| due.allowed_s) else { return false };
        let since_ms = raised.due_ms - i64::from(allowed_s) * 1000;
        looks.iter().any(|at_ms| *at_ms > since_ms && *at_ms <= raised.due_ms)
    };
    standing
        .alerts
        .iter()
        .filter(needless)
        .map(|raised| {
            let alert = alert(raised.cause, raised.zone.clone(), raised.due_ms, Some(raised.line));
            Entry::from(Alerted { withdrawn: true, ..alert }).into()
        })
        .collect()
}

fn alerted(standing: &Standing, cause: AlertCause, zone: Option<&ZoneId>, due_ms: i64) -> bool {
    standing.alerts.iter().any(|raised| {
        raised.cause == cause && raised.zone.as_ref() == zone && raised.due_ms == due_ms
    })
}

fn alert(
    cause: AlertCause,
    zone: Option<ZoneId>,
    due_ms: i64,
    of: Option<ledger::LineId>,
) -> Alerted {
    Alerted { cause, zone, due_ms, step: 0, channel: Channel::Desk, to: None, of, withdrawn: false }
}
