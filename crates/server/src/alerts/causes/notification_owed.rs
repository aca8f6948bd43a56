//! A system is out and a party that the terms name has not been told.

use super::{Case, Condition};
use record::{AlertCause, Party};

pub(crate) fn of(case: &Case<'_>) -> Vec<Condition> {
    let owed = case.documents.terms.as_ref().map(|terms| &terms.owed.notify[..]).unwrap_or(&[]);
    let told = |party: Party, outage: &crate::standing::Outage| {
        let named = case.standing.notified.iter();
        named.clone().any(|(who, of)| *who == party && of.is_none_or(|of| of == outage.system))
    };
    let mut found = Vec::new();
    for outage in &case.standing.outages {
        let open = owed.iter().filter(|notice| !told(notice.party, outage));
        // "At once" has no number in any source; how long we wait before alerting is our own.
        let due_ms = open.map(|notice| {
            let within_s = notice.within_s.unwrap_or(case.ladder.notification_s);
            outage.from_ms + i64::from(within_s) * 1000
        });
        if let Some(due_ms) = due_ms.min() {
            let condition = Condition::at(AlertCause::NotificationOwed, due_ms);
            found.push(Condition { of: Some(outage.line), ..condition });
        }
    }
    found
}
