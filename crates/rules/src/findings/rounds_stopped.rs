//! # What it finds
//! A stretch in which an emergency stopped the rounds.
//! # Why
//! It breaks no gap, but a reader must see that nobody walked then.
//! # Demand
//! None: said so that it is not overlooked.
//! # Innocent explanation
//! It is one.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::EmergencyStage;
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RoundsStopped {
    /// How long, s.
    pub stopped_s: i64,
    /// Nobody has said yet that the engine is there or that it is over.
    pub open: bool,
}

pub(crate) fn rounds_stopped(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for emergency in &judging.state.emergencies {
        let Some((from_ms, until_ms)) = emergency.rounds_stopped else { continue };
        let to_ms = until_ms.unwrap_or(judging.state.cover.until_ms);
        let facts = RoundsStopped { stopped_s: (to_ms - from_ms) / 1000, open: until_ms.is_none() };
        let stamps = emergency.stamps.iter().filter(|s| s.stage != EmergencyStage::Opened);
        let mut finding = Finding::new(Verdict::Look, Facts::RoundsStopped(facts), Source::Ours)
            .between(from_ms, to_ms)
            .resting_on(stamps.map(|stamp| &stamp.written));
        finding.zone = emergency.zone.clone();
        findings.push(finding);
    }
}
