//! How a watch stands: what the desk must know of it at any moment, taken from its state once per
//! change, so that a page with thousands of watches folds nothing.

mod of_state;

use crate::alerts::causes::Condition;
use ledger::{DeviceId, LineId, PersonId};
use record::{AlertCause, Channel, EmergencyStage, Party, SiteId, System, ZoneId};
use std::collections::BTreeMap;
use watch::Due;

/// Whoever begins so long before the plan has come for it, ms (our own default).
pub(crate) const EARLY_MS: i64 = 2 * 3_600_000;

/// How a watch stands.
#[derive(Debug, Clone, Default)]
pub(crate) struct Standing {
    pub(crate) tz: String,
    pub(crate) site: Option<SiteId>,
    /// When it was opened, or its opening last written anew, ms UTC.
    pub(crate) opened_ms: i64,
    pub(crate) from_ms: i64,
    pub(crate) until_ms: Option<i64>,
    pub(crate) demo: bool,
    pub(crate) test: bool,
    pub(crate) drill: bool,
    pub(crate) released_ms: Option<i64>,
    pub(crate) out: Vec<System>,
    /// From when looks are owed: somebody has begun, ms UTC.
    pub(crate) begun_ms: Option<i64>,
    /// Somebody has begun at least once.
    pub(crate) begun: bool,
    /// Who began, and when, ms UTC.
    pub(crate) came: Vec<(PersonId, i64)>,
    /// When the last shift ended, ms UTC.
    pub(crate) ended_ms: Option<i64>,
    pub(crate) on_duty: Vec<OnDuty>,
    /// Everybody who was ever on duty here, by device: who can be rung.
    pub(crate) last_guard: Option<PersonId>,
    /// Who is planned next.
    pub(crate) planned: Vec<(PersonId, i64, i64)>,
    /// The lines that planned them, in the same order.
    pub(crate) plan_lines: Vec<LineId>,
    /// Soonest first.
    pub(crate) due: Vec<Due>,
    pub(crate) fire: Option<Fire>,
    /// Every alert, oldest first.
    pub(crate) alerts: Vec<Raised>,
    /// Every step of the ladder that an alert has reached.
    pub(crate) climbed: Vec<Climbed>,
    /// What holds or will hold, as it was when the watch was last looked at.
    pub(crate) conditions: Vec<Condition>,
    pub(crate) questions: Vec<Asked>,
    pub(crate) longest: Option<Longest>,
    /// When each open observation was made, oldest first, ms UTC.
    pub(crate) observations: Vec<i64>,
    pub(crate) open: Vec<Open>,
    pub(crate) tail_until_ms: Option<i64>,
    /// Tails of hot work that is not signed off.
    pub(crate) tails: Vec<Tail>,
    pub(crate) outages: Vec<Outage>,
    /// Who was told of a system that is out, or of all.
    pub(crate) notified: Vec<(Party, Option<System>)>,
    pub(crate) looks_ms: BTreeMap<ZoneId, Vec<i64>>,
}

/// A guard on duty.
#[derive(Debug, Clone)]
pub(crate) struct OnDuty {
    pub(crate) who: PersonId,
    pub(crate) dev: DeviceId,
    pub(crate) since_ms: i64,
    pub(crate) on_break: bool,
    /// When something was last written on the phone, ms UTC.
    pub(crate) wrote_ms: Option<i64>,
}

/// A step of the ladder that an alert has reached.
#[derive(Debug, Clone)]
pub(crate) struct Climbed {
    pub(crate) line: LineId,
    /// The alert.
    pub(crate) of: LineId,
    pub(crate) step: u16,
    pub(crate) channel: Channel,
    pub(crate) at_ms: i64,
}

/// An open observation.
#[derive(Debug, Clone)]
pub(crate) struct Open {
    pub(crate) line: LineId,
    pub(crate) at_ms: i64,
    pub(crate) zone: Option<ZoneId>,
}

/// The watch after a last spark.
#[derive(Debug, Clone)]
pub(crate) struct Tail {
    pub(crate) line: LineId,
    pub(crate) zone: Option<ZoneId>,
    pub(crate) spark_ms: i64,
    pub(crate) until_ms: i64,
}

/// A system that is out.
#[derive(Debug, Clone)]
pub(crate) struct Outage {
    pub(crate) line: LineId,
    pub(crate) system: System,
    pub(crate) from_ms: i64,
}

/// An emergency that goes on.
#[derive(Debug, Clone)]
pub(crate) struct Fire {
    /// Its first line.
    pub(crate) line: LineId,
    pub(crate) who: PersonId,
    pub(crate) stage: EmergencyStage,
    /// When that stage was reached, ms UTC.
    pub(crate) at_ms: i64,
    pub(crate) zone: Option<ZoneId>,
    pub(crate) engine_ms: Option<i64>,
}

/// An alert.
#[derive(Debug, Clone)]
pub(crate) struct Raised {
    pub(crate) line: LineId,
    /// When it was raised, ms UTC.
    pub(crate) at_ms: i64,
    pub(crate) cause: AlertCause,
    pub(crate) zone: Option<ZoneId>,
    pub(crate) due_ms: i64,
    pub(crate) of: Option<LineId>,
    /// A later line says that all was well.
    pub(crate) withdrawn: bool,
    /// The line that says so.
    pub(crate) back: Option<LineId>,
    /// Who took it, and when, ms UTC.
    pub(crate) taken: Option<(PersonId, i64)>,
}

/// A question without an answer.
#[derive(Debug, Clone)]
pub(crate) struct Asked {
    pub(crate) line: LineId,
    pub(crate) who: PersonId,
    pub(crate) at_ms: i64,
}

/// The longest gap that has ended.
#[derive(Debug, Clone)]
pub(crate) struct Longest {
    pub(crate) length_ms: i64,
    pub(crate) allowed_s: u32,
}

impl Standing {
    /// Whether somebody came for a stretch and is no longer on duty.
    pub(crate) fn has_gone(&self, who: &PersonId, from_ms: i64, until_ms: i64) -> bool {
        let stretch = from_ms - EARLY_MS..until_ms;
        let came = self.came.iter().any(|(by, at_ms)| by == who && stretch.contains(at_ms));
        came && self.on_duty.iter().all(|duty| duty.who != *who)
    }

    /// Whether the watch is over at an instant.
    pub(crate) fn is_over(&self, now_ms: i64) -> bool {
        self.released_ms.is_some_and(|at_ms| at_ms <= now_ms)
    }

    /// Zones past their gap at an instant, longest over first.
    pub(crate) fn over(&self, now_ms: i64) -> Vec<&Due> {
        let late = |due: &&Due| !due.stopped && due.due_ms < now_ms;
        let mut over: Vec<&Due> = self.due.iter().filter(late).collect();
        over.sort_by_key(|due| due.due_ms);
        over
    }

    /// The alerts whose cause still lasts.
    pub(crate) fn lasting(&self, now_ms: i64) -> Vec<&Raised> {
        let over = self.over(now_ms);
        let lasts = |alert: &&Raised| match alert.cause {
            AlertCause::Emergency => self.fire.as_ref().is_some_and(|f| alert.of == Some(f.line)),
            AlertCause::Late | AlertCause::Unheard => over
                .iter()
                .any(|due| Some(&due.zone) == alert.zone.as_ref() && due.due_ms == alert.due_ms),
            AlertCause::NotArrived if alert.due_ms == self.from_ms => !self.begun,
            AlertCause::Asked => self.questions.iter().any(|q| alert.of == Some(q.line)),
            AlertCause::DueSoon => false,
            _ => self.conditions.iter().any(|c| c.from_ms <= now_ms && c.is(alert)),
        };
        self.alerts.iter().filter(|alert| !alert.withdrawn).filter(lasts).collect()
    }

    /// The oldest lasting alert that has no words of its own on the first page.
    pub(crate) fn other_alert(&self, now_ms: i64) -> Option<&Raised> {
        let own_words = |alert: &&Raised| {
            use AlertCause::{Asked, Emergency, Late, Unheard};
            !matches!(alert.cause, Emergency | Late | Unheard | Asked)
        };
        self.lasting(now_ms).into_iter().find(own_words)
    }

    /// Who has the lasting alerts, since when; none while one of them is not taken.
    pub(crate) fn taken(&self, now_ms: i64) -> Option<(PersonId, i64)> {
        let lasting = self.lasting(now_ms);
        let taken: Option<Vec<_>> = lasting.iter().map(|alert| alert.taken.clone()).collect();
        taken?.into_iter().max_by_key(|(_, at_ms)| *at_ms)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_came_and_handed_over_is_not_missing() {
        let (ana, jon) = (PersonId::new("ana").unwrap(), PersonId::new("jon").unwrap());
        let hour = 3_600_000;
        let standing = Standing { came: vec![(ana.clone(), 9 * hour)], ..Standing::default() };
        assert!(standing.has_gone(&ana, 10 * hour, 18 * hour), "an hour early is in time");
        assert!(!standing.has_gone(&ana, 19 * hour, 22 * hour), "that is another stretch");
        assert!(!standing.has_gone(&jon, 10 * hour, 18 * hour), "never came");
    }
}
