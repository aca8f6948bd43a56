//! How a watch stands: what the desk must know of it at any moment, taken from its state once per
//! change, so that a page with thousands of watches folds nothing.

use crate::alerts::causes::Condition;
use ledger::{DeviceId, LineId, PersonId};
use record::{AlertCause, Channel, EmergencyStage, Party, SiteId, System, ZoneId};
use std::collections::BTreeMap;
use watch::{Due, State};

/// Whoever begins so long before the plan has come for it, ms (our own default).
pub(crate) const EARLY_MS: i64 = 2 * 3_600_000;

/// How a watch stands.
#[derive(Debug, Clone, Default)]
pub(crate) struct Standing {
    pub(crate) tz: String,
    pub(crate) site: Option<SiteId>,
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
    /// Takes from a state what the desk must know.
    pub(crate) fn of(state: &State) -> Standing {
        let opening = state.opening.as_ref();
        Standing {
            tz: opening.map(|o| o.tz.clone()).unwrap_or_default(),
            site: opening.map(|o| o.site.clone()),
            from_ms: opening.map_or(state.about_ms, |o| o.from_ms),
            until_ms: opening.and_then(|o| o.until_ms),
            demo: opening.is_some_and(|o| o.demo),
            test: opening.is_some_and(|o| o.test),
            drill: state.drill,
            released_ms: state.released().map(|release| release.at_ms),
            out: systems_out(state),
            begun_ms: state.shifts.first().map(|shift| shift.from_ms),
            begun: !state.shifts.is_empty(),
            on_duty: state
                .on_duty
                .iter()
                .map(|duty| OnDuty {
                    who: duty.who.clone(),
                    dev: duty.dev,
                    since_ms: duty.since_ms,
                    on_break: duty.on_break,
                    wrote_ms: wrote(state, duty.dev),
                })
                .collect(),
            came: state.shifts.iter().map(|s| (s.who.clone(), s.from_ms)).collect(),
            ended_ms: state.shifts.iter().filter_map(|shift| shift.until_ms).max(),
            last_guard: state.shifts.last().map(|shift| shift.who.clone()),
            planned: state
                .scheduled
                .iter()
                .map(|plan| (plan.person.clone(), plan.from_ms, plan.until_ms))
                .collect(),
            plan_lines: state.scheduled.iter().map(|plan| plan.written.line).collect(),
            due: state.due.clone(),
            fire: state.emergency().and_then(fire),
            alerts: raised(state),
            climbed: climbed(state),
            conditions: Vec::new(),
            questions: state
                .questions
                .iter()
                .filter(|question| question.answers.is_empty())
                .map(|q| Asked {
                    line: q.written.line,
                    who: q.written.who.clone(),
                    at_ms: q.written.when.at_ms,
                })
                .collect(),
            longest: longest(state),
            observations: state.open_observations().map(|o| o.written.when.at_ms).collect(),
            open: state
                .open_observations()
                .map(|o| Open {
                    line: o.written.line,
                    at_ms: o.written.when.at_ms,
                    zone: o.zone.clone(),
                })
                .collect(),
            tail_until_ms: tail(state),
            tails: tails(state),
            outages: state
                .impairments
                .iter()
                .filter(|impairment| impairment.until_ms.is_none())
                .map(|i| Outage { line: i.written.line, system: i.system, from_ms: i.from_ms })
                .collect(),
            notified: notified(state),
            looks_ms: state
                .zones
                .iter()
                .map(|zone| {
                    let looks = zone.looks.iter().map(|look| look.written.when.at_ms).collect();
                    (zone.id.clone(), looks)
                })
                .collect(),
        }
    }

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

fn fire(emergency: &watch::Emergency) -> Option<Fire> {
    let first = emergency.stamps.first()?;
    let stamp = emergency
        .at(EmergencyStage::Called)
        .or_else(|| emergency.at(EmergencyStage::Seen))
        .unwrap_or(first);
    let engine = emergency.at(EmergencyStage::EngineHere);
    Some(Fire {
        line: first.written.line,
        who: stamp.written.who.clone(),
        stage: stamp.stage,
        at_ms: stamp.written.when.at_ms,
        zone: emergency.zone.clone(),
        engine_ms: engine.map(|stamp| stamp.written.when.at_ms),
    })
}

/// A withdrawal is an alert of its own that names the one it takes back.
fn raised(state: &State) -> Vec<Raised> {
    let (back, raised): (Vec<_>, Vec<_>) = state.alerts.iter().partition(|alert| alert.withdrawn);
    let line_back = |line| back.iter().find(|b| b.of == Some(line)).map(|b| b.written.line);
    raised
        .into_iter()
        .filter(|alert| alert.step == 0)
        .map(|alert| Raised {
            line: alert.written.line,
            at_ms: alert.written.when.at_ms,
            cause: alert.cause,
            zone: alert.zone.clone(),
            due_ms: alert.due_ms,
            of: alert.of,
            withdrawn: line_back(alert.written.line).is_some(),
            back: line_back(alert.written.line),
            taken: alert.acknowledged.as_ref().map(|w| (w.who.clone(), w.when.at_ms)),
        })
        .collect()
}

/// Steps name the alert that they belong to.
fn climbed(state: &State) -> Vec<Climbed> {
    let steps = state.alerts.iter().filter(|alert| alert.step > 0 && !alert.withdrawn);
    let climbed = steps.filter_map(|alert| {
        Some(Climbed {
            line: alert.written.line,
            of: alert.of?,
            step: alert.step,
            channel: alert.channel,
            at_ms: alert.written.when.at_ms,
        })
    });
    climbed.collect()
}

fn wrote(state: &State, dev: DeviceId) -> Option<i64> {
    state
        .devices
        .iter()
        .find(|device| device.dev == dev)
        .map(|device| device.last_recorded_ms)
        .filter(|at_ms| *at_ms > i64::MIN)
}

fn tails(state: &State) -> Vec<Tail> {
    let open = state.hot_work.iter().filter(|work| work.closed.is_none());
    let tails = open.filter_map(|work| {
        let spark = work.last_spark.as_ref()?;
        Some(Tail {
            line: work.began.line,
            zone: work.zone.clone(),
            spark_ms: spark.when.at_ms,
            until_ms: work.watch_until_ms?,
        })
    });
    tails.collect()
}

fn notified(state: &State) -> Vec<(Party, Option<System>)> {
    let told = state.notifications.iter().filter(|n| !n.restored).map(|n| (n.party, n.system));
    let reached = state.communications.iter().filter(|c| c.reached).map(|c| (c.party, None));
    told.chain(reached).collect()
}

fn longest(state: &State) -> Option<Longest> {
    state
        .zones
        .iter()
        .flat_map(|zone| &zone.gaps)
        .filter_map(|gap| {
            let length_ms = gap.length_ms() - gap.stopped_ms;
            Some(Longest { length_ms, allowed_s: gap.allowed_s? })
        })
        .max_by_key(|gap| gap.length_ms - i64::from(gap.allowed_s) * 1000)
}

fn tail(state: &State) -> Option<i64> {
    let open = state.hot_work.iter().filter(|work| work.closed.is_none());
    open.filter_map(|work| work.looks_until_ms.or(work.watch_until_ms)).max()
}

fn systems_out(state: &State) -> Vec<System> {
    let out = state.impairments.iter().filter(|i| i.until_ms.is_none()).map(|i| i.system);
    let mut out: Vec<_> = out.collect();
    out.sort();
    out.dedup();
    out
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
