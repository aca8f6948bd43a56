//! What may be wrong with a watch, one file a cause. Each says from when it holds, also if that lies
//! ahead, so that the agenda knows when to look again. Pure.

mod asked;
mod delivery_owed;
mod emergency;
mod no_relief;
mod no_sign_of_life;
mod not_arrived;
mod notification_owed;
mod observation_ageing;
mod tail_unattended;
mod unseen;

use crate::alerts::ladder::Ladder;
use crate::book::{Book, Documents};
use crate::standing::Standing;
use ledger::LineId;
use record::{AlertCause, ZoneId};

/// A watch as the causes see it.
pub(crate) struct Case<'a> {
    pub(crate) standing: &'a Standing,
    pub(crate) documents: &'a Documents,
    pub(crate) book: &'a Book,
    pub(crate) ladder: &'a Ladder,
    /// Since when a report is owed that has not gone out, ms UTC.
    pub(crate) undelivered_ms: Option<i64>,
    pub(crate) now_ms: i64,
}

/// Something that holds, or will.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Condition {
    pub(crate) cause: AlertCause,
    pub(crate) zone: Option<ZoneId>,
    /// By when the opposite was due, ms UTC.
    pub(crate) due_ms: i64,
    /// The line that it is about.
    pub(crate) of: Option<LineId>,
    /// From when it holds unless a line comes in, ms UTC.
    pub(crate) from_ms: i64,
}

impl Condition {
    /// One that holds from the instant at which it was due.
    fn at(cause: AlertCause, due_ms: i64) -> Condition {
        Condition { cause, zone: None, due_ms, of: None, from_ms: due_ms }
    }

    /// That this is what an alert was raised for.
    pub(crate) fn is(&self, raised: &crate::standing::Raised) -> bool {
        let same = self.cause == raised.cause && self.zone == raised.zone;
        // What is about a line is the same as long as it is about that line.
        same && match self.of {
            Some(line) => raised.of == Some(line),
            None => raised.due_ms == self.due_ms,
        }
    }
}

impl Case<'_> {
    /// With nobody on duty there is no phone to wait for.
    fn in_touch(&self) -> bool {
        let on_duty = &self.standing.on_duty;
        on_duty.is_empty() || on_duty.iter().any(|d| self.book.in_touch(d.dev, self.now_ms))
    }
}

/// Everything that holds or will hold as the watch stands.
pub(crate) fn all(case: &Case<'_>) -> Vec<Condition> {
    let mut found: Vec<Condition> = delivery_owed::of(case).into_iter().collect();
    if case.standing.is_over(case.now_ms) {
        return found;
    }
    found.extend(emergency::of(case));
    found.extend(not_arrived::of(case));
    found.extend(unseen::of(case));
    found.extend(no_relief::of(case));
    found.extend(tail_unattended::of(case));
    found.extend(no_sign_of_life::of(case));
    found.extend(observation_ageing::of(case));
    found.extend(notification_owed::of(case));
    found.extend(asked::of(case));
    found
}
