//! # What it finds
//! An emergency in which the stated times do not show the fire service called first.
//! # Why
//! The minutes between seeing and calling are those in which a fire grows past a room.
//! # Demand
//! The fire service first, everybody else after (common practice, and every instruction read).
//! # Innocent explanation
//! The call was made and stamped afterwards; stated times are not a call log, so this is only ever
//! a place to look at.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::{EmergencyStage, Party};
use serde::Serialize;
use watch::{Emergency, Written};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OrderOfCalls {
    /// From seeing to calling, s, if both are stated.
    pub seen_to_called_s: Option<i64>,
    /// A call of the fire service is stated.
    pub called: bool,
    /// Who is stated to have been told before.
    pub told_before: Vec<Party>,
}

pub(crate) fn order_of_calls(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for emergency in judging.state.emergencies.iter().filter(|e| e.is_called() && !e.drill) {
        let called = call(judging, emergency);
        let before = told_before(judging, emergency, called);
        if called.is_some() && before.is_empty() {
            continue;
        }
        let seen = emergency.at(EmergencyStage::Seen).map(|stamp| &stamp.written);
        let facts = OrderOfCalls {
            seen_to_called_s: seen.zip(called).map(|(s, c)| (c.when.at_ms - s.when.at_ms) / 1000),
            called: called.is_some(),
            told_before: before.iter().map(|(party, _)| *party).collect(),
        };
        let stamps = emergency.stamps.iter().map(|stamp| &stamp.written);
        let (from_ms, to_ms) = span(emergency);
        let lines: Vec<&Written> =
            stamps.chain(before.iter().map(|(_, written)| *written)).collect();
        findings.push(
            Finding::new(Verdict::Look, Facts::OrderOfCalls(facts), Source::Ours)
                .between(from_ms, to_ms)
                .resting_on(lines),
        );
    }
}

/// The stamp that says so, or a communication with the fire service.
fn call<'a>(judging: &'a Judging<'_>, emergency: &'a Emergency) -> Option<&'a Written> {
    let (from_ms, to_ms) = span(emergency);
    let told = judging.state.communications.iter().filter(|c| {
        c.party == Party::FireService && (from_ms..=to_ms).contains(&c.written.when.at_ms)
    });
    emergency
        .at(EmergencyStage::Called)
        .map(|stamp| &stamp.written)
        .into_iter()
        .chain(told.map(|c| &c.written))
        .min_by_key(|written| written.when.at_ms)
}

fn told_before<'a>(
    judging: &'a Judging<'_>,
    emergency: &Emergency,
    called: Option<&Written>,
) -> Vec<(Party, &'a Written)> {
    let (from_ms, to_ms) = span(emergency);
    let until_ms = called.map_or(to_ms, |written| written.when.at_ms - 1);
    judging
        .state
        .communications
        .iter()
        .filter(|c| !matches!(c.party, Party::FireService | Party::Occupants))
        .filter(|c| (from_ms..=until_ms).contains(&c.written.when.at_ms))
        .map(|c| (c.party, &c.written))
        .collect()
}

/// From the first stamp that says something to the last.
fn span(emergency: &Emergency) -> (i64, i64) {
    let times = || {
        let stamps = emergency.stamps.iter();
        stamps.filter(|s| s.stage != EmergencyStage::Opened).map(|s| s.written.when.at_ms)
    };
    (times().min().unwrap_or_default(), times().max().unwrap_or_default())
}
