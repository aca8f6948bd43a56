//! Which alerts are owed and not yet written. Pure: a case in, statements out.

use super::causes::{Case, Condition};
use crate::scribe::Statement;
use crate::standing::Raised;
use record::{AlertCause, Alerted, Channel, Entry, Unheard};

/// The alerts that a watch owes at an instant, with withdrawals of those that proved needless.
pub(crate) fn owed(case: &Case<'_>, conditions: &[Condition]) -> Vec<Statement> {
    let mut owed = Vec::new();
    for condition in conditions.iter().filter(|condition| condition.from_ms <= case.now_ms) {
        let raised = &case.standing.alerts;
        let late = Condition { cause: AlertCause::Late, ..condition.clone() };
        // Once called late, a zone is not called unheard as well.
        let late_already =
            condition.cause == AlertCause::Unheard && raised.iter().any(|r| late.is(r));
        if late_already || raised.iter().any(|r| condition.is(r)) {
            continue;
        }
        if condition.cause == AlertCause::Unheard {
            owed.extend(unheard(case, condition));
        }
        owed.push(first(condition).into());
    }
    owed.extend(withdrawn(case));
    owed
}

/// The desk has an alert at once; a warning goes to the phone alone.
fn first(condition: &Condition) -> Alerted {
    Alerted {
        cause: condition.cause,
        zone: condition.zone.clone(),
        due_ms: condition.due_ms,
        step: 0,
        channel: match condition.cause {
            AlertCause::DueSoon => Channel::Phone,
            _ => Channel::Desk,
        },
        to: None,
        of: condition.of,
        withdrawn: false,
    }
}

fn unheard(case: &Case<'_>, condition: &Condition) -> Option<Statement> {
    let due = case.standing.due.iter().find(|due| Some(&due.zone) == condition.zone.as_ref())?;
    let device = case.standing.on_duty.first().map(|duty| duty.dev);
    let heard = device.and_then(|dev| case.book.any_device(dev)?.heard_ms);
    let since_ms = heard.unwrap_or(due.since_ms);
    let (zone, due_ms) = (condition.zone.clone(), condition.due_ms);
    Some(Unheard { device, zone, since_ms, due_ms }.into())
}

/// A look that came in afterwards shows that the zone was seen in time.
fn withdrawn(case: &Case<'_>) -> Vec<Statement> {
    let standing = case.standing;
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
    let back = |raised: &Raised| {
        let (zone, of) = (raised.zone.clone(), Some(raised.line));
        let (cause, due_ms) = (raised.cause, raised.due_ms);
        let channel = Channel::Desk;
        Entry::from(Alerted {
            cause,
            zone,
            due_ms,
            step: 0,
            channel,
            to: None,
            of,
            withdrawn: true,
        })
    };
    standing.alerts.iter().filter(needless).map(|raised| back(raised).into()).collect()
}
