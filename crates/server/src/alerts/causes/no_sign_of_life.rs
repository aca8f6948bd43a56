//! Somebody is alone on duty, the phone is in touch, and nothing was written on it for long.
//!
//! The phone speaks with us by itself, so that it is heard says nothing about its guard.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Option<Condition> {
    let [guard] = &case.standing.on_duty[..] else { return None };
    let wait_ms = i64::from(case.ladder.life_s) * 1000;
    if wait_ms == 0 || !case.in_touch() || case.standing.fire.is_some() {
        return None;
    }
    Some(Condition::at(AlertCause::NoSignOfLife, guard.wrote_ms? + wait_ms))
}
