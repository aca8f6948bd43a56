//! # What it finds
//! An observation that was still open when the watch ended.
//! # Why
//! When the guards leave nobody looks at it any more.
//! # Demand
//! Our own: an observation is closed, or handed to somebody by name, before the watch ends.
//! # Innocent explanation
//! It was put right and the closing was not written.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::{HazardClass, Severity};
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ObservationOpenAtRelease {
    /// What was found.
    pub class: HazardClass,
    /// How bad.
    pub severity: Severity,
    /// How long it was open by then, s.
    pub open_s: i64,
    /// How many reliefs it was open over.
    pub reliefs: u32,
    /// Whether somebody had been told of it.
    pub told: bool,
}

pub(crate) fn observation_open_at_release(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(release) = judging.state.released() else { return };
    for observation in judging.state.open_observations() {
        let from_ms = observation.written.when.at_ms;
        if observation.severity == Severity::Note || from_ms > release.at_ms {
            continue;
        }
        let facts = ObservationOpenAtRelease {
            class: observation.class,
            severity: observation.severity,
            open_s: (release.at_ms - from_ms) / 1000,
            reliefs: observation.reliefs,
            told: !observation.told.is_empty(),
        };
        let source = judging.source("open_observations").unwrap_or(Source::Ours);
        let facts = Facts::ObservationOpenAtRelease(facts);
        let mut finding = Finding::new(Verdict::Broken, facts, source)
            .between(from_ms, release.at_ms)
            .resting_on([&observation.written, &release.written]);
        finding.zone = observation.zone.clone();
        findings.push(finding);
    }
}
