//! # What it finds
//! A phone whose clock was set back, set forward and back, or moved between two comparisons with
//! the server.
//! # Why
//! Times from such a stretch decide nothing.
//! # Demand
//! None: the evidence conflicts.
//! # Innocent explanation
//! The phone corrected itself, changed its zone of time by hand, or slept.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::DeviceId;
use serde::Serialize;
use std::collections::BTreeMap;
use watch::{Doubt, Written};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClockMoved {
    /// Which device.
    pub device: DeviceId,
    /// How its clock contradicts itself, the first kind seen.
    pub doubt: Doubt,
    /// How many looks rest on it.
    pub looks: u32,
}

pub(crate) fn clock_moved(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let mut by_device: BTreeMap<DeviceId, Vec<(&Written, Doubt)>> = BTreeMap::new();
    for look in judging.state.zones.iter().flat_map(|zone| &zone.looks) {
        if let Some(doubt) = look.written.when.doubt {
            by_device.entry(look.written.dev).or_default().push((&look.written, doubt));
        }
    }
    for (device, mut doubted) in by_device {
        doubted.sort_by_key(|(written, _)| (written.when.recorded_ms, written.line));
        let (first, last) = (doubted[0].0, doubted[doubted.len() - 1].0);
        let facts = ClockMoved { device, doubt: doubted[0].1, looks: doubted.len() as u32 };
        findings.push(
            Finding::new(Verdict::Unclear, Facts::ClockMoved(facts), Source::Ours)
                .between(first.when.recorded_ms, last.when.recorded_ms)
                .resting_on(doubted.iter().map(|(written, _)| *written)),
        );
    }
}
