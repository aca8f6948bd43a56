//! # What it finds
//! A zone of the watch without a single look.
//! # Why
//! A missing key or a misread plan keeps a whole zone out of every round.
//! # Demand
//! The longest gap that the terms set for the zone.
//! # Innocent explanation
//! The stops were tried and could not be reached; the refusals are named.

use super::unseen_gap::Why;
use super::{Facts, Finding, Judging, Verdict};
use record::WhyNot;
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ZoneNeverSeen {
    /// How long looks were owed, s.
    pub owed_s: i64,
    /// How long it may stay unseen, s.
    pub allowed_s: u32,
    /// Why it could not be reached, if that was written: each reason once.
    pub refused: Vec<WhyNot>,
    /// A phone on duty has not told of the time since.
    pub why: Option<Why>,
}

pub(crate) fn zone_never_seen(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for zone in judging.state.zones.iter().filter(|zone| zone.looks.is_empty()) {
        let Some(gap) = zone.gaps.first().filter(|gap| gap.over_ms() > Some(0)) else { continue };
        let (Some(allowed_s), Some(due_ms)) = (gap.allowed_s, gap.due_ms) else { continue };
        let behind = judging.unheard(due_ms);
        let mut refused: Vec<WhyNot> = zone.refused.iter().map(|refused| refused.why).collect();
        refused.sort();
        refused.dedup();
        let facts = ZoneNeverSeen {
            owed_s: gap.length_ms() / 1000,
            allowed_s,
            refused,
            why: behind.map(|since_ms| Why::NotHeard { since_ms }),
        };
        let verdict = if behind.is_some() { Verdict::Unclear } else { Verdict::Broken };
        let source = judging.gap_source(&zone.id, allowed_s);
        findings.push(
            Finding::new(verdict, Facts::ZoneNeverSeen(facts), source)
                .in_zone(&zone.id)
                .between(gap.from_ms, gap.to_ms)
                .resting_on(zone.refused.iter().map(|refused| &refused.written)),
        );
    }
}
