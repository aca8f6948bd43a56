//! How a watch stands: what the desk must know of it at any moment, taken from its state once per
//! change, so that a page with thousands of watches folds nothing.

use ledger::{DeviceId, LineId, PersonId};
use record::{AlertCause, EmergencyStage, ZoneId};
use std::collections::BTreeMap;
use watch::{Due, State};

/// How a watch stands.
#[derive(Debug, Clone, Default)]
pub(crate) struct Standing {
    pub(crate) tz: String,
    pub(crate) from_ms: i64,
    pub(crate) until_ms: Option<i64>,
    pub(crate) demo: bool,
    pub(crate) test: bool,
    pub(crate) drill: bool,
    pub(crate) released_ms: Option<i64>,
    pub(crate) out: Vec<record::System>,
    /// From when looks are owed: somebody has begun, ms UTC.
    pub(crate) begun_ms: Option<i64>,
    /// Somebody has begun at least once.
    pub(crate) begun: bool,
    pub(crate) on_duty: Vec<OnDuty>,
    /// Everybody who was ever on duty here, by device: who can be rung.
    pub(crate) last_guard: Option<PersonId>,
    /// Who is planned next.
    pub(crate) planned: Vec<(PersonId, i64, i64)>,
    /// Soonest first.
    pub(crate) due: Vec<Due>,
    pub(crate) fire: Option<Fire>,
    /// Every alert, oldest first.
    pub(crate) alerts: Vec<Raised>,
    pub(crate) questions: Vec<Asked>,
    pub(crate) longest: Option<Longest>,
    /// When each open observation was made, oldest first, ms UTC.
    pub(crate) observations: Vec<i64>,
    pub(crate) tail_until_ms: Option<i64>,
    pub(crate) looks_ms: BTreeMap<ZoneId, Vec<i64>>,
}

/// A guard on duty.
#[derive(Debug, Clone)]
pub(crate) struct OnDuty {
    pub(crate) who: PersonId,
    pub(crate) dev: DeviceId,
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
    pub(crate) cause: AlertCause,
    pub(crate) zone: Option<ZoneId>,
    pub(crate) due_ms: i64,
    pub(crate) of: Option<LineId>,
    /// A later line says that all was well.
    pub(crate) withdrawn: bool,
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
                .map(|duty| OnDuty { who: duty.who.clone(), dev: duty.dev })
                .collect(),
            last_guard: state.shifts.last().map(|shift| shift.who.clone()),
            planned: state
                .scheduled
                .iter()
                .map(|plan| (plan.person.clone(), plan.from_ms, plan.until_ms))
                .collect(),
            due: state.due.clone(),
            fire: state.emergency().and_then(fire),
            alerts: raised(state),
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
            tail_until_ms: tail(state),
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
            AlertCause::NotArrived => !self.begun,
            AlertCause::Asked => self.questions.iter().any(|q| alert.of == Some(q.line)),
            _ => false,
        };
        self.alerts.iter().filter(|alert| !alert.withdrawn).filter(lasts).collect()
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
    raised
        .into_iter()
        .map(|alert| Raised {
            line: alert.written.line,
            cause: alert.cause,
            zone: alert.zone.clone(),
            due_ms: alert.due_ms,
            of: alert.of,
            withdrawn: back.iter().any(|b| b.of == Some(alert.written.line)),
            taken: alert.acknowledged.as_ref().map(|w| (w.who.clone(), w.when.at_ms)),
        })
        .collect()
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

fn systems_out(state: &State) -> Vec<record::System> {
    let out = state.impairments.iter().filter(|i| i.until_ms.is_none()).map(|i| i.system);
    let mut out: Vec<_> = out.collect();
    out.sort();
    out.dedup();
    out
}
