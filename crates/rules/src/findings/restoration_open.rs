//! # What it finds
//! A system that was out when the watch ended, or a restoration with steps left undone.
//! # Why
//! A valve left shut after the repair is found by the next fire.
//! # Demand
//! The steps of the restoration, where the terms name a source; else only a place to look at.
//! # Innocent explanation
//! The step was done and not written.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::{RestorationStep, System};
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RestorationOpen {
    /// Which system.
    pub system: System,
    /// It is stated to work again.
    pub restored: bool,
    /// Steps that are not stated.
    pub open: Vec<RestorationStep>,
}

pub(crate) fn restoration_open(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for impairment in judging.state.impairments.iter().filter(|i| i.system != System::None) {
        let restored = impairment.restored.is_some();
        if !restored && judging.state.released().is_none() {
            continue;
        }
        let stated = |step: &RestorationStep| impairment.restoration.contains(step);
        let open: Vec<RestorationStep> =
            RestorationStep::ALL.into_iter().filter(|step| !stated(step)).collect();
        if restored && open.is_empty() {
            continue;
        }
        let facts = RestorationOpen { system: impairment.system, restored, open };
        let source = judging.source("restoration");
        let verdict = if source.is_some() { Verdict::Broken } else { Verdict::Look };
        let lines = [Some(&impairment.written), impairment.restored.as_ref()];
        findings.push(
            Finding::new(verdict, Facts::RestorationOpen(facts), source.unwrap_or(Source::Ours))
                .between(
                    impairment.from_ms,
                    impairment.until_ms.unwrap_or(judging.state.cover.until_ms),
                )
                .resting_on(lines.into_iter().flatten()),
        );
    }
}
