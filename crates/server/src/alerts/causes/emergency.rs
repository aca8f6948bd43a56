//! A fire was called, or the emergency card was opened in earnest.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Option<Condition> {
    let fire = case.standing.fire.as_ref()?;
    let condition = Condition::at(AlertCause::Emergency, fire.at_ms);
    // The stage moves on; the emergency is the same.
    Some(Condition { of: Some(fire.line), from_ms: i64::MIN, ..condition })
}
