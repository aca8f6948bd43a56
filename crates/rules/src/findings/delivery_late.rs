//! # What it finds
//! A report that went out late or not at all.
//! # Why
//! The authority reads last night in the morning; a log at the office helps nobody.
//! # Demand
//! When it must be out, by the terms.
//! # Innocent explanation
//! It was handed over on paper.

use super::{Facts, Finding, Judging, Source, Verdict};
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DeliveryLate {
    /// Within how long after the watch, s.
    pub within_s: u32,
    /// How long after it, s; none if not at all.
    pub after_s: Option<i64>,
    /// How often it failed before.
    pub failed: u32,
}

pub(crate) fn delivery_late(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(within_s) = judging.owed().and_then(|owed| owed.deliver_within_s) else { return };
    if !judging.is_over() {
        return;
    }
    let over_ms = judging.state.cover.until_ms;
    let due_ms = over_ms + i64::from(within_s) * 1000;
    let out = judging.state.deliveries.iter().find(|delivery| delivery.ok);
    let verdict = match out {
        Some(delivery) if delivery.written.when.at_ms <= due_ms => Verdict::Kept,
        None if judging.state.about_ms <= due_ms => return,
        Some(_) | None => Verdict::Broken,
    };
    let facts = DeliveryLate {
        within_s,
        after_s: out.map(|delivery| (delivery.written.when.at_ms - over_ms) / 1000),
        failed: judging.state.deliveries.iter().filter(|delivery| !delivery.ok).count() as u32,
    };
    let to_ms = out.map_or(judging.state.about_ms, |delivery| delivery.written.when.at_ms);
    let source = judging.source("deliver_within_s").unwrap_or(Source::Terms);
    findings.push(
        Finding::new(verdict, Facts::DeliveryLate(facts), source)
            .between(over_ms, to_ms.max(over_ms))
            .resting_on(judging.state.deliveries.iter().map(|delivery| &delivery.written)),
    );
}
