//! The last spark has fallen, its tail runs, and nobody is on duty to watch it.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let standing = case.standing;
    let alone = standing.on_duty.iter().all(|duty| duty.on_break);
    let running = standing.tails.iter().filter(|tail| tail.until_ms > case.now_ms && alone);
    let since_ms = |spark_ms: i64| standing.ended_ms.unwrap_or(spark_ms).max(spark_ms);
    let condition = |tail: &crate::standing::Tail| Condition {
        of: Some(tail.line),
        zone: tail.zone.clone(),
        ..Condition::at(AlertCause::TailUnattended, since_ms(tail.spark_ms))
    };
    running.map(condition).collect()
}
