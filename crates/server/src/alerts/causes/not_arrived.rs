//! Somebody is planned and has not begun.

use super::{Case, Condition};
use crate::standing::EARLY_MS;
use record::AlertCause;

/// Whoever opens a watch that begins at once is just sending somebody: so long nobody is rung for it, ms (our own
/// figure).
const SETTLE_MS: i64 = 10 * 60_000;

pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let standing = case.standing;
    let missing = |due_ms| Condition::at(AlertCause::NotArrived, due_ms);
    if !standing.begun {
        let from_ms = standing.from_ms.max(standing.opened_ms + SETTLE_MS);
        return vec![Condition { from_ms, ..missing(standing.from_ms) }];
    }
    let later = standing.planned.iter().filter(|(who, from_ms, until_ms)| {
        let first = *from_ms <= standing.from_ms;
        // Somebody else who came at that time stands in for whoever was planned.
        let came =
            standing.came.iter().any(|(_, at_ms)| (*from_ms - EARLY_MS..*until_ms).contains(at_ms));
        let stayed = standing.on_duty.iter().any(|duty| duty.who == *who);
        !first && !came && !stayed && *until_ms > case.now_ms
    });
    later.map(|(_, from_ms, _)| missing(*from_ms)).collect()
}
