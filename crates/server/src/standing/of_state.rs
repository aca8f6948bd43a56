//! What is taken from the state of a watch.

use super::{Asked, Climbed, Fire, Longest, OnDuty, Open, Outage, Raised, Standing, Tail};
use ledger::{DeviceId, PersonId};
use record::{EmergencyStage, Party, System, ZoneId};
use std::collections::BTreeMap;
use watch::State;

impl Standing {
    /// Takes from a state what the desk must know.
    pub(crate) fn of(state: &State) -> Standing {
        let opening = state.opening.as_ref();
        Standing {
            tz: opening.map(|o| o.tz.clone()).unwrap_or_default(),
            site: opening.map(|o| o.site.clone()),
            opened_ms: opening.map_or(state.about_ms, |o| o.written.when.at_ms),
            from_ms: opening.map_or(state.about_ms, |o| o.from_ms),
            until_ms: opening.and_then(|o| o.until_ms),
            demo: opening.is_some_and(|o| o.demo),
            test: opening.is_some_and(|o| o.test),
            drill: state.drill,
            released_ms: state.released().map(|release| release.at_ms),
            out: systems_out(state),
            begun_ms: state.shifts.first().map(|shift| shift.from_ms),
            begun: !state.shifts.is_empty(),
            on_duty: on_duty(state),
            came: state.shifts.iter().map(|s| (s.who.clone(), s.from_ms)).collect(),
            ended_ms: state.shifts.iter().filter_map(|shift| shift.until_ms).max(),
            last_guard: state.shifts.last().map(|shift| shift.who.clone()),
            planned: planned(state),
            plan_lines: state.scheduled.iter().map(|plan| plan.written.line).collect(),
            due: state.due.clone(),
            fire: state.emergency().and_then(fire),
            alerts: raised(state),
            climbed: climbed(state),
            conditions: Vec::new(),
            questions: questions(state),
            longest: longest(state),
            observations: state.open_observations().map(|o| o.written.when.at_ms).collect(),
            open: open(state),
            tail_until_ms: tail(state),
            tails: tails(state),
            outages: outages(state),
            notified: notified(state),
            looks_ms: looks(state),
        }
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

fn on_duty(state: &State) -> Vec<OnDuty> {
    let on_duty = state.on_duty.iter().map(|duty| OnDuty {
        who: duty.who.clone(),
        dev: duty.dev,
        since_ms: duty.since_ms,
        on_break: duty.on_break,
        wrote_ms: wrote(state, duty.dev),
    });
    on_duty.collect()
}

fn planned(state: &State) -> Vec<(PersonId, i64, i64)> {
    let plans = state.scheduled.iter();
    plans.map(|plan| (plan.person.clone(), plan.from_ms, plan.until_ms)).collect()
}

fn questions(state: &State) -> Vec<Asked> {
    let unanswered = state.questions.iter().filter(|question| question.answers.is_empty());
    let asked = unanswered.map(|question| Asked {
        line: question.written.line,
        who: question.written.who.clone(),
        at_ms: question.written.when.at_ms,
    });
    asked.collect()
}

fn open(state: &State) -> Vec<Open> {
    let open = state.open_observations().map(|observation| Open {
        line: observation.written.line,
        at_ms: observation.written.when.at_ms,
        zone: observation.zone.clone(),
    });
    open.collect()
}

fn outages(state: &State) -> Vec<Outage> {
    let open = state.impairments.iter().filter(|impairment| impairment.until_ms.is_none());
    let outages = open.map(|impairment| Outage {
        line: impairment.written.line,
        system: impairment.system,
        from_ms: impairment.from_ms,
    });
    outages.collect()
}

fn looks(state: &State) -> BTreeMap<ZoneId, Vec<i64>> {
    let zones = state.zones.iter().map(|zone| {
        let looks = zone.looks.iter().map(|look| look.written.when.at_ms).collect();
        (zone.id.clone(), looks)
    });
    zones.collect()
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
