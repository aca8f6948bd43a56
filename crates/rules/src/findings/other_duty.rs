//! # What it finds
//! A guard who was given something else to do while on watch.
//! # Why
//! Every source that speaks of it asks for a person with no other duties during an impairment.
//! # Demand
//! That other duties are not allowed, by the terms.
//! # Innocent explanation
//! A second guard kept the watch meanwhile.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OtherDuty {
    /// Who.
    pub who: PersonId,
    /// How long, s.
    pub length_s: i64,
}

pub(crate) fn other_duty(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(terms) = judging.state.terms.as_ref().filter(|terms| !terms.set.other_duties) else {
        return;
    };
    for shift in &judging.state.shifts {
        let end_ms = shift.until_ms.unwrap_or(judging.state.cover.until_ms);
        for (from_ms, until_ms) in &shift.other_duties {
            let to_ms = until_ms.unwrap_or(end_ms);
            let facts = OtherDuty { who: shift.who.clone(), length_s: (to_ms - from_ms) / 1000 };
            let source = judging.source("other_duties").unwrap_or(Source::Terms);
            findings.push(
                Finding::new(Verdict::Broken, Facts::OtherDuty(facts), source)
                    .between(*from_ms, to_ms)
                    .resting_on([&shift.began, &terms.written]),
            );
        }
    }
}
