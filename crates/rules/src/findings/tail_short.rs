//! # What it finds
//! A watch after hot work that ended before its time.
//! # Why
//! Most fires from hot work break out within the hour after the last spark, some much later.
//! # Demand
//! The permit's watch after the last spark, or the terms' if longer.
//! # Innocent explanation
//! Somebody stayed and did not write it.

use super::cover_gap::CLOCK_MINUTE_MS;
use super::unseen_gap::Why;
use super::{Facts, Finding, Judging, Source, Verdict};
use serde::Serialize;
use watch::HotWork;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TailShort {
    /// How long it had to be, s.
    pub owed_s: u32,
    /// How long it was, s.
    pub kept_s: i64,
    /// It was signed off, not only left.
    pub closed: bool,
    /// Why the recorded time does not decide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<Why>,
}

pub(crate) fn tail_short(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for work in &judging.state.hot_work {
        let (Some(spark), Some(owed_s)) = (&work.last_spark, owed_s(judging, work)) else {
            continue;
        };
        let from_ms = spark.when.at_ms;
        let due_ms = from_ms + i64::from(owed_s) * 1000;
        let (end_ms, why) = end(judging, work, from_ms);
        let doubt = spark.when.doubt.map(Why::Clock);
        let (verdict, why) = match (end_ms, doubt.or(why)) {
            (None, _) if judging.state.about_ms < due_ms => continue,
            (_, why @ Some(Why::Clock(_))) => (Verdict::Unclear, why),
            (Some(end_ms), why) if end_ms < due_ms => {
                (if why.is_some() { Verdict::Unclear } else { Verdict::Broken }, why)
            }
            _ => (Verdict::Kept, None),
        };
        let to_ms = end_ms.unwrap_or(due_ms);
        let kept_s = (to_ms - from_ms) / 1000;
        let facts = TailShort { owed_s, kept_s, closed: work.closed.is_some(), why };
        let source = judging.source("tail_s").unwrap_or(Source::Terms);
        let mut finding = Finding::new(verdict, Facts::TailShort(facts), source)
            .between(from_ms, to_ms)
            .resting_on([Some(spark), work.closed.as_ref()].into_iter().flatten());
        finding.zone = work.zone.clone();
        findings.push(finding);
    }
}

fn owed_s(judging: &Judging<'_>, work: &HotWork) -> Option<u32> {
    let permit_s = work.permit.as_ref().and_then(|permit| permit.watch_s);
    permit_s.max(judging.owed().and_then(|owed| owed.tail_s))
}

/// When the tail ended, if it did: signed off, or nobody on duty any more, and why that is not sure. Less than a minute
/// between two people ends nothing, as it breaks no cover line.
fn end(judging: &Judging<'_>, work: &HotWork, from_ms: i64) -> (Option<i64>, Option<Why>) {
    let closed = work
        .closed
        .as_ref()
        .map(|closed| (closed.when.at_ms.max(from_ms), closed.when.doubt.map(Why::Clock)));
    let empty = judging.state.cover.holes.iter().filter(|hole| hole.people == 0);
    let left = empty
        .filter(|hole| hole.until_ms - hole.from_ms.max(from_ms) >= CLOCK_MINUTE_MS)
        .map(|hole| {
            let unheard = judging.unheard(hole.until_ms).map(|since_ms| Why::NotHeard { since_ms });
            (hole.from_ms.max(from_ms), unheard)
        });
    let over = judging.is_over().then_some((judging.state.cover.until_ms, None));
    let first = closed.into_iter().chain(left).chain(over).min_by_key(|(end_ms, _)| *end_ms);
    (first.map(|(end_ms, _)| end_ms), first.and_then(|(_, why)| why))
}
