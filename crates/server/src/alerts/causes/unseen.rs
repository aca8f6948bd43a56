//! Zones: soon over their gap, over it with the phone in touch, or over it with the phone unheard.

use super::{Case, Condition};
use record::AlertCause;

/// A warning takes at most this part of the gap (our own default).
const WARNING_SHARE: i64 = 10;

/// A zone past its gap is late when its phone is in touch. Of a phone out of touch nothing is known,
/// so nothing is called missed: it is not heard from.
pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let standing = case.standing;
    if !standing.begun {
        return Vec::new();
    }
    let in_touch = case.in_touch();
    let mut found = Vec::new();
    for due in standing.due.iter().filter(|due| !due.stopped) {
        let zone = Some(due.zone.clone());
        let warning_s = i64::from(case.ladder.due_soon_s);
        let warning_ms = (warning_s * 1000).min(i64::from(due.allowed_s) * 1000 / WARNING_SHARE);
        if warning_ms > 0 && due.due_ms > case.now_ms && in_touch {
            let soon = Condition::at(AlertCause::DueSoon, due.due_ms);
            found.push(Condition { zone: zone.clone(), from_ms: due.due_ms - warning_ms, ..soon });
        }
        let cause = if in_touch { AlertCause::Late } else { AlertCause::Unheard };
        // At the very millisecond the gap is still kept.
        let over = Condition { from_ms: due.due_ms + 1, ..Condition::at(cause, due.due_ms) };
        found.push(Condition { zone, ..over });
    }
    found.sort_by_key(|condition| condition.due_ms);
    found
}
