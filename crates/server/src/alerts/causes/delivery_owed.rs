//! A report should be out and is not. Owed also after the release.

use super::{Case, Condition};
use record::AlertCause;

pub(crate) fn of(case: &Case<'_>) -> Option<Condition> {
    let wait_ms = i64::from(case.ladder.delivery_s) * 1000;
    let since_ms = case.undelivered_ms.filter(|_| wait_ms > 0)?;
    Some(Condition::at(AlertCause::DeliveryOwed, since_ms + wait_ms))
}
