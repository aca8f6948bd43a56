//! # What it finds
//! Looks at the place of earlier hot work that came too late or not at all.
//! # Why
//! Smouldering in wood fibre or insulation takes hours to show.
//! # Demand
//! The permit's looks after the watch: how long, and how far apart.
//! # Innocent explanation
//! The place was seen on a round and not written as a look back.

use super::unseen_gap::Why;
use super::{Facts, Finding, Judging, Source, Verdict};
use serde::Serialize;
use watch::{HotWork, Written};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LookBackMissed {
    /// How long nobody looked, s.
    pub unseen_s: i64,
    /// How far apart looks may be, s.
    pub every_s: u32,
    /// Why the recorded time does not decide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<Why>,
}

pub(crate) fn look_back_missed(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for work in &judging.state.hot_work {
        let Some(every_s) = work.permit.as_ref().and_then(|permit| permit.look_every_s) else {
            continue;
        };
        let (Some(start_ms), Some(end_ms)) = (work.watch_until_ms, work.looks_until_ms) else {
            continue;
        };
        let until_ms = judging.state.about_ms.min(ended_ms(judging, work).max(end_ms));
        for (from_ms, to_ms, lines) in gaps(work, start_ms, end_ms, until_ms) {
            let due_ms = judging.state.due_ms(from_ms, every_s);
            if to_ms <= due_ms {
                continue;
            }
            let doubt =
                lines.iter().copied().chain(&work.last_spark).find_map(|line| line.when.doubt);
            let since_ms = judging.unheard(to_ms.min(due_ms));
            let why = doubt.map(Why::Clock).or(since_ms.map(|since_ms| Why::NotHeard { since_ms }));
            let verdict = if why.is_some() { Verdict::Unclear } else { Verdict::Broken };
            let facts = LookBackMissed { unseen_s: (to_ms - from_ms) / 1000, every_s, why };
            let source = judging.source("look_back").unwrap_or(Source::Terms);
            let mut finding = Finding::new(verdict, Facts::LookBackMissed(facts), source)
                .between(from_ms, to_ms)
                .resting_on(lines);
            finding.zone = work.zone.clone();
            findings.push(finding);
        }
    }
}

/// When nobody owes looks any more: the permit was signed off, or the watch released or over. Before the end of the looks
/// neither ends what is owed.
fn ended_ms(judging: &Judging<'_>, work: &HotWork) -> i64 {
    let closed_ms = work.closed.as_ref().map(|closed| closed.when.at_ms);
    let over_ms = judging.is_over().then_some(judging.state.cover.until_ms);
    closed_ms.into_iter().chain(over_ms).min().unwrap_or(i64::MAX)
}

/// The stretches between the end of the watch and each look, up to the first look at or after the
/// end of the looks: that one is owed too, no later after the look before than any other. Who signs
/// off and found no further hazard has looked.
fn gaps(
    work: &HotWork,
    start_ms: i64,
    end_ms: i64,
    until_ms: i64,
) -> Vec<(i64, i64, Vec<&Written>)> {
    let mut gaps = Vec::new();
    let mut before: (i64, Option<&Written>) = (start_ms, None);
    let surveyed = work.closed.iter().filter(|_| work.surveyed);
    let mut looks: Vec<&Written> =
        work.looked_back.iter().map(|look| &look.written).chain(surveyed).collect();
    looks.sort_by_key(|look| (look.when.at_ms, look.line));
    for look in looks.into_iter().filter(|look| look.when.at_ms > start_ms) {
        gaps.push((before.0, look.when.at_ms, before.1.into_iter().chain([look]).collect()));
        before = (look.when.at_ms, Some(look));
        if look.when.at_ms >= end_ms {
            return gaps;
        }
    }
    gaps.push((before.0, until_ms, before.1.into_iter().chain(&work.last_spark).collect()));
    gaps
}
