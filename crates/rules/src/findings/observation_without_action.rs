//! # What it finds
//! Something was found and nothing was written about what was done.
//! # Why
//! A hazard that is only noted is still there (common practice: *how it was corrected* stands beside
//! *what was found*; LAMC 57.324.18.1.1 asks for it).
//! # Demand
//! Our own: everything worse than a note names what was done or who was told.
//! # Innocent explanation
//! It was put right at once and not written.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::{HazardClass, Severity};
use serde::Serialize;
use watch::Observation;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ObservationWithoutAction {
    /// What was found.
    pub class: HazardClass,
    /// How bad.
    pub severity: Severity,
    /// How long it has been open, s.
    pub open_s: i64,
    /// How many reliefs it has been open over.
    pub reliefs: u32,
}

pub(crate) fn observation_without_action(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for observation in judging.state.observations.iter().filter(|o| nothing_done(o)) {
        let written = &observation.written;
        let verdict =
            if shift_is_over(judging, observation) { Verdict::Broken } else { Verdict::Look };
        let facts = ObservationWithoutAction {
            class: observation.class,
            severity: observation.severity,
            open_s: observation.open_ms / 1000,
            reliefs: observation.reliefs,
        };
        let source = judging.source("what_was_done").unwrap_or(Source::Ours);
        let mut finding = Finding::new(verdict, Facts::ObservationWithoutAction(facts), source)
            .between(written.when.at_ms, written.when.at_ms + observation.open_ms)
            .resting_on([written]);
        finding.zone = observation.zone.clone();
        findings.push(finding);
    }
}

fn nothing_done(observation: &Observation) -> bool {
    observation.severity != Severity::Note
        && observation.actions.is_empty()
        && observation.told.is_empty()
        && observation.closed.is_none()
}

/// While the finder's shift goes on there is still time to write.
fn shift_is_over(judging: &Judging<'_>, observation: &Observation) -> bool {
    let mut shifts = judging.state.shifts.iter();
    let at_ms = observation.written.when.at_ms;
    judging.is_over()
        || shifts.any(|shift| {
            shift.who == observation.written.who
                && shift.until_ms.is_some_and(|end_ms| end_ms >= at_ms)
        })
}
