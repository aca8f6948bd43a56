//! # What it finds
//! A report that went out late or not at all: after the watch, and after each whole day of one that
//! goes on.
//! # Why
//! The authority reads last night in the morning; a log at the office helps nobody.
//! # Demand
//! When it must be out, by the terms. A day is 24 hours from the beginning of the watch, so that a
//! night over midnight is one. A report that says what it covers counts for what it covers; one that
//! does not, for what ended last before it went out.
//! # Innocent explanation
//! It was handed over on paper.

use super::{Facts, Finding, Judging, Source, Verdict};
use serde::Serialize;
use watch::Delivery;

const DAY_MS: i64 = 24 * 60 * 60 * 1_000;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DeliveryLate {
    /// Within how long after the watch or the day, s.
    pub within_s: u32,
    /// How long after it, s; none if not at all.
    pub after_s: Option<i64>,
    /// How often it failed before.
    pub failed: u32,
    /// Which day of the watch, from 1; none for its end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day: Option<u32>,
}

pub(crate) fn delivery_late(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(within_s) = judging.owed().and_then(|owed| owed.deliver_within_s) else { return };
    let cover = &judging.state.cover;
    let is_over = judging.is_over();
    let until_ms = if is_over { cover.until_ms } else { judging.state.about_ms };
    let from_ms = cover.from_ms.unwrap_or(until_ms);
    for day in 1.. {
        let end_ms = from_ms + i64::from(day) * DAY_MS;
        if end_ms >= until_ms {
            break;
        }
        findings.extend(judged(judging, within_s, Some(day), end_ms));
    }
    if is_over {
        findings.extend(judged(judging, within_s, None, cover.until_ms));
    }
}

/// Judges the report on what ended at `end_ms`: the first that reaches there, or that says nothing of what it
/// covers and went out after it.
fn judged(judging: &Judging<'_>, within_s: u32, day: Option<u32>, end_ms: i64) -> Option<Finding> {
    let due_ms = end_ms + i64::from(within_s) * 1000;
    let deliveries = || {
        let of_this = |delivery: &&Delivery| match &delivery.report {
            // A shift's report tells nothing of the day around it.
            Some(report) => {
                let begin_ms = day.map_or(i64::MAX, |_| end_ms - DAY_MS);
                report.until_ms >= end_ms && report.from_ms <= begin_ms
            }
            None => delivery.written.when.at_ms >= end_ms,
        };
        judging.state.deliveries.iter().filter(of_this)
    };
    let out = deliveries().find(|delivery| delivery.ok);
    let verdict = match out {
        Some(delivery) if delivery.written.when.at_ms <= due_ms => Verdict::Kept,
        None if judging.state.about_ms <= due_ms => return None,
        Some(_) | None => Verdict::Broken,
    };
    let facts = DeliveryLate {
        within_s,
        after_s: out.map(|delivery| (delivery.written.when.at_ms - end_ms) / 1000),
        failed: deliveries().filter(|delivery| !delivery.ok).count() as u32,
        day,
    };
    let to_ms = out.map_or(judging.state.about_ms, |delivery| delivery.written.when.at_ms);
    let source = judging.source("deliver_within_s").unwrap_or(Source::Terms);
    let finding = Finding::new(verdict, Facts::DeliveryLate(facts), source)
        .between(end_ms, to_ms.max(end_ms))
        .resting_on(deliveries().map(|delivery| &delivery.written));
    Some(finding)
}
