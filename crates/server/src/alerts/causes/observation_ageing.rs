//! What was found stays open.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let wait_ms = i64::from(case.ladder.observation_s) * 1000;
    let open = case.standing.open.iter().filter(|_| wait_ms > 0);
    let condition = |open: &crate::standing::Open| Condition {
        of: Some(open.line),
        zone: open.zone.clone(),
        ..Condition::at(AlertCause::ObservationAgeing, open.at_ms + wait_ms)
    };
    open.map(condition).collect()
}
