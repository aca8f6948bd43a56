//! # What it finds
//! A stretch of the watch with nobody on duty, or fewer than the terms ask for.
//! # Why
//! A watch stands on named people: no minute without one.
//! # Demand
//! The watch itself, and the number of people in its terms.
//! # Innocent explanation
//! The next guard was there and began on the phone later.

use super::{Facts, Finding, Judging, Source, Verdict};
use serde::Serialize;
use watch::{Doubt, HoleWhy};

/// The cover line is told in minutes: less than one is for somebody to look at, not a breach.
pub(super) const CLOCK_MINUTE_MS: i64 = 60_000;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CoverGap {
    /// How long, s.
    pub length_s: i64,
    /// How many were on duty.
    pub people: u16,
    /// How many are owed.
    pub owed: u16,
    /// What left it open.
    pub why: HoleWhy,
    /// Why the times that bound it may not be judged by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clock: Option<Doubt>,
}

pub(crate) fn cover_gap(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for hole in &judging.state.cover.holes {
        let length_ms = hole.until_ms - hole.from_ms;
        let clock = judging.doubt_of_shifts(&hole.lines);
        let verdict = match length_ms {
            ..CLOCK_MINUTE_MS => Verdict::Look,
            _ if clock.is_some() => Verdict::Unclear,
            _ if judging.has_passed(hole.until_ms) => Verdict::Broken,
            _ => Verdict::Unclear,
        };
        let facts = CoverGap {
            length_s: length_ms / 1000,
            people: hole.people,
            owed: hole.owed,
            why: hole.why,
            clock,
        };
        let source = judging.source("people").unwrap_or(Source::Terms);
        let mut finding = Finding::new(verdict, Facts::CoverGap(facts), source)
            .between(hole.from_ms, hole.until_ms);
        finding.lines = hole.lines.clone();
        findings.push(finding);
    }
}
