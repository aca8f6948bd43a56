//! Which steps of the ladder an alert has reached without anybody taking it. Pure.

use super::ladder::Ladder;
use crate::scribe::Statement;
use crate::standing::{Raised, Standing};
use record::{AlertCause, Alerted, Channel};
use std::collections::BTreeSet;

/// Alerts that climb: each that lasts and that nobody has taken.
fn climbing(standing: &Standing, now_ms: i64) -> Vec<&Raised> {
    standing.lasting(now_ms).into_iter().filter(|alert| alert.taken.is_none()).collect()
}

/// The steps that are owed now. `ways` are the channels by which each step reaches somebody; a step
/// that reaches nobody is not stated.
pub(crate) fn owed(
    standing: &Standing,
    ladder: &Ladder,
    ways: &[BTreeSet<Channel>],
    now_ms: i64,
) -> Vec<Statement> {
    let mut owed = Vec::new();
    for alert in climbing(standing, now_ms) {
        for (number, (step, ways)) in (1u16..).zip(ladder.steps.iter().zip(ways)) {
            if alert.at_ms + i64::from(step.wait_s) * 1000 > now_ms {
                continue;
            }
            let stated = |channel: &Channel| {
                let climbed = standing.climbed.iter();
                climbed.clone().any(|c| (c.of, c.step, c.channel) == (alert.line, number, *channel))
            };
            owed.extend(ways.iter().filter(|channel| !stated(channel)).map(|channel| {
                let (cause, zone, due_ms) = (alert.cause, alert.zone.clone(), alert.due_ms);
                let (channel, of) = (*channel, Some(alert.line));
                Statement::from(Alerted {
                    cause,
                    zone,
                    due_ms,
                    step: number,
                    channel,
                    to: None,
                    of,
                    withdrawn: false,
                })
            }));
        }
    }
    owed
}

/// The next instant at which an alert climbs, ms UTC.
pub(crate) fn next(standing: &Standing, ladder: &Ladder, now_ms: i64) -> Option<i64> {
    let climbing = climbing(standing, now_ms);
    let waits = ladder.steps.iter().map(|step| i64::from(step.wait_s) * 1000);
    let ahead = climbing.iter().flat_map(|a| waits.clone().map(|wait_ms| a.at_ms + wait_ms));
    ahead.filter(|at_ms| *at_ms > now_ms).min()
}

/// Alerts that only the guard's phone gets, and that are not older than the minute for which they
/// help.
pub(crate) fn is_warning(cause: AlertCause) -> bool {
    cause == AlertCause::DueSoon
}
