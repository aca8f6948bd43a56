//! # What it finds
//! A watch after hot work that ended before its time.
//! # Why
//! Most fires from hot work break out within the hour after the last spark, some much later.
//! # Demand
//! The permit's watch after the last spark, or the terms' if longer.
//! # Innocent explanation
//! Somebody stayed and did not write it.

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
}

pub(crate) fn tail_short(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for work in &judging.state.hot_work {
        let (Some(spark), Some(owed_s)) = (&work.last_spark, owed_s(judging, work)) else { continue };
        let from_ms = spark.when.at_ms;
        let due_ms = from_ms + i64::from(owed_s) * 1000;
        let end_ms = end_ms(judging, work, from_ms);
        let verdict = match end_ms {
            Some(end_ms) if end_ms < due_ms => Verdict::Broken,
            Some(_) => Verdict::Kept,
            None if judging.state.about_ms >= due_ms => Verdict::Kept,
            None => continue,
        };
        let to_ms = end_ms.unwrap_or(due_ms);
        let kept_s = (to_ms - from_ms) / 1000;
        let facts = TailShort { owed_s, kept_s, closed: work.closed.is_some() };
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

/// When the tail ended: signed off, or nobody on duty any more.
fn end_ms(judging: &Judging<'_>, work: &HotWork, from_ms: i64) -> Option<i64> {
    let closed_ms = work.closed.as_ref().map(|closed| closed.when.at_ms);
    let hole = judging.state.cover.holes.iter().find(|h| h.people == 0 && h.until_ms > from_ms);
    let left_ms = hole.map(|hole| hole.from_ms.max(from_ms));
    let over_ms = judging.is_over().then_some(judging.state.cover.until_ms);
    closed_ms.into_iter().chain(left_ms).chain(over_ms).min()
}
