//! A guard asks and nobody has answered.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let asked = case.standing.questions.iter();
    let condition = |q: &crate::standing::Asked| Condition {
        of: Some(q.line),
        from_ms: i64::MIN,
        ..Condition::at(AlertCause::Asked, q.at_ms)
    };
    asked.map(condition).collect()
}
