//! # What it finds
//! Fire, smoke, heat or an odour that was closed without a cause found, or without anybody looking
//! again. With one of the two it is only for somebody to look at.
//! # Why
//! An odour put down to varnish was the first sign of a fire that killed three firefighters (One
//! Meridian Plaza 1991).
//! # Demand
//! Our own, after that fire: it stays open until a cause is found, and somebody goes back. Once the fire
//! service was called in between, what it found counts as both.
//! # Innocent explanation
//! The cause was plain and not written.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::{EmergencyStage, HazardClass, WhatDone};
use serde::Serialize;
use watch::{Action, Observation};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnknownOdourClosed {
    /// How long it had been open, s.
    pub open_s: i64,
    /// A cause was written.
    pub cause_found: bool,
    /// Somebody looked again before it was closed.
    pub looked_again: bool,
}

pub(crate) fn unknown_odour_closed(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let fires = judging.state.observations.iter().filter(|o| o.class == HazardClass::Fire);
    for observation in fires {
        let Some(closed) = &observation.closed else { continue };
        let wrote = |what| said(observation, closed, what);
        let (cause_found, looked_again) = (
            wrote(WhatDone::CauseFound),
            wrote(WhatDone::LookedAgain) || seen_again(judging, observation, closed),
        );
        if cause_found && looked_again || called(judging, observation, closed) {
            continue;
        }
        let verdict = if cause_found || looked_again { Verdict::Look } else { Verdict::Broken };
        let facts =
            UnknownOdourClosed { open_s: observation.open_ms / 1000, cause_found, looked_again };
        let source = judging.source("unknown_odour").unwrap_or(Source::Ours);
        let mut finding = Finding::new(verdict, Facts::UnknownOdourClosed(facts), source)
            .between(observation.written.when.at_ms, closed.written.when.at_ms)
            .resting_on([&observation.written, &closed.written]);
        finding.zone = observation.zone.clone();
        findings.push(finding);
    }
}

/// Whether the fire service was called in between.
fn called(judging: &Judging<'_>, observation: &Observation, closed: &Action) -> bool {
    let between = observation.written.when.at_ms..=closed.written.when.at_ms;
    let real = judging.state.emergencies.iter().filter(|emergency| !emergency.drill);
    let calls = real.filter_map(|emergency| emergency.at(EmergencyStage::Called));
    calls.into_iter().any(|stamp| between.contains(&stamp.written.when.at_ms))
}

fn said(observation: &Observation, closed: &Action, what: WhatDone) -> bool {
    observation.actions.iter().chain([closed]).any(|action| action.done.contains(&what))
}

fn seen_again(judging: &Judging<'_>, observation: &Observation, closed: &Action) -> bool {
    let zone = observation.zone.as_ref().and_then(|zone| judging.state.zone(zone));
    let (from_ms, to_ms) = (observation.written.when.at_ms, closed.written.when.at_ms);
    zone.is_some_and(|zone| {
        let again = |at_ms: i64| at_ms > from_ms && at_ms <= to_ms;
        zone.looks.iter().any(|look| again(look.written.when.at_ms))
    })
}
