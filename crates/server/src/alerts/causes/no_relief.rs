//! Nobody has taken over: a shift is past its planned end, or it has ended and nobody is there.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let standing = case.standing;
    if !standing.begun || standing.until_ms.is_some_and(|until_ms| until_ms <= case.now_ms) {
        return Vec::new();
    }
    if standing.on_duty.is_empty() {
        let ended = standing.ended_ms.map(|at_ms| Condition::at(AlertCause::NoRelief, at_ms));
        return ended.into_iter().collect();
    }
    let wait_ms = i64::from(case.ladder.relief_s) * 1000;
    let mut found = Vec::new();
    for duty in &standing.on_duty {
        let since = standing.came.iter().filter(|(who, _)| *who == duty.who);
        let since_ms = since.map(|(_, at_ms)| *at_ms).max().unwrap_or(i64::MIN);
        // A plan that was over before the guard came says nothing about this shift.
        let own = standing
            .planned
            .iter()
            .filter(|(who, _, until_ms)| *who == duty.who && *until_ms > since_ms);
        let Some(until_ms) = own.map(|(_, _, until_ms)| *until_ms).max() else { continue };
        let ends_the_watch = standing.until_ms.is_some_and(|watch_ms| watch_ms <= until_ms);
        let relieved = standing
            .came
            .iter()
            .any(|(who, at_ms)| *who != duty.who && *at_ms >= until_ms - wait_ms);
        if !ends_the_watch && !relieved {
            let condition = Condition::at(AlertCause::NoRelief, until_ms);
            found.push(Condition { from_ms: until_ms + wait_ms, ..condition });
        }
    }
    found.dedup();
    found
}
