//! # What it finds
//! A zone that stayed unseen longer than the terms allow.
//! # Why
//! The gap between two looks is the time in which nobody would notice a fire there.
//! # Demand
//! The longest gap that the terms set for the zone.
//! # Innocent explanation
//! A look that was not written down, a phone that was never handed in, an emergency elsewhere.

use super::{Facts, Finding, Judging, Verdict};
use serde::Serialize;
use watch::{Doubt, Gap, GapEnd, Zone};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnseenGap {
    /// How long the zone was not recorded as seen, s.
    pub unseen_s: i64,
    /// How long it may be, s.
    pub allowed_s: u32,
    /// How much longer it was than allowed, s; not positive if it was not.
    pub over_s: i64,
    /// How much of it the rounds were stopped by an emergency, s.
    pub stopped_s: i64,
    /// The zone has not been seen since.
    pub open: bool,
    /// One of its ends was written by hand or told by telephone.
    pub by_hand: bool,
    /// Why the recorded time does not decide.
    pub why: Option<Why>,
}

/// Why a gap is unclear.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// The clocks conflict.
    Clock(Doubt),
    /// It is over by less than the clocks can be wrong.
    WithinError {
        /// How wrong, s, rounded up.
        error_s: i64,
    },
    /// A phone on duty has not told of the time since; it may hold a look.
    NotHeard {
        /// Its newest time, ms UTC.
        since_ms: i64,
    },
}

pub(crate) fn unseen_gap(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for zone in judging.state.zones.iter().filter(|zone| !zone.looks.is_empty()) {
        let before = findings.len();
        for gap in &zone.gaps {
            if let Some((verdict, why)) = verdict(judging, zone, gap) {
                findings.extend(finding(judging, zone, gap, verdict, why));
            }
        }
        if findings.len() == before {
            findings.extend(kept(judging, zone));
        }
    }
}

/// None for a gap without a demand, and for one that is not over it.
fn verdict(judging: &Judging<'_>, zone: &Zone, gap: &Gap) -> Option<(Verdict, Option<Why>)> {
    let over_ms = gap.over_ms()?;
    if let Some(doubt) = gap.doubt {
        return Some((Verdict::Unclear, Some(Why::Clock(doubt))));
    }
    if over_ms <= 0 {
        return None;
    }
    if let Some(since_ms) = judging.unheard(gap.to_ms.min(gap.due_ms?)) {
        return Some((Verdict::Unclear, Some(Why::NotHeard { since_ms })));
    }
    match gap.error_ms {
        Some(error_ms) if over_ms <= error_ms => {
            let error_s = (error_ms + 999) / 1000;
            Some((Verdict::Unclear, Some(Why::WithinError { error_s })))
        }
        _ => match misplaced(zone, gap) {
            Some(doubt) => Some((Verdict::Unclear, Some(Why::Clock(doubt)))),
            None => Some((Verdict::Broken, None)),
        },
    }
}

/// A look whose own time cannot be believed, and which may by its seal have been written in this gap.
fn misplaced(zone: &Zone, gap: &Gap) -> Option<Doubt> {
    zone.looks.iter().map(|look| &look.written).find_map(|written| {
        let doubt = written.when.doubt?;
        let sealed = written.when.sealed;
        let not_before_ms = sealed.not_before_ms.unwrap_or(i64::MIN);
        let not_after_ms = sealed.not_after_ms.unwrap_or(i64::MAX);
        let inside = not_before_ms < gap.to_ms && not_after_ms > gap.from_ms;
        let outside_by_itself = !(gap.from_ms..=gap.to_ms).contains(&written.when.at_ms);
        (inside && outside_by_itself).then_some(doubt)
    })
}

/// One finding for a zone in which every gap was kept: the longest of them.
fn kept(judging: &Judging<'_>, zone: &Zone) -> Option<Finding> {
    let closed = zone.gaps.iter().filter(|gap| gap.to != GapEnd::Now && gap.due_ms.is_some());
    let longest = closed.clone().max_by_key(|gap| gap.length_ms())?;
    let sealed = closed.map(|gap| gap.sealed_after_ms).try_fold(0, |most, ms| Some(ms?.max(most)));
    let mut finding = finding(judging, zone, longest, Verdict::Kept, None)?;
    finding.sealed_after_s = sealed.map(|ms| ms / 1000);
    Some(finding)
}

fn finding(
    judging: &Judging<'_>,
    zone: &Zone,
    gap: &Gap,
    verdict: Verdict,
    why: Option<Why>,
) -> Option<Finding> {
    let allowed_s = gap.allowed_s?;
    let lines = gap.lines();
    let by_hand = zone
        .looks
        .iter()
        .filter(|look| lines.contains(&look.written.line))
        .any(|look| look.marks.paper || look.marks.phoned_in || look.marks.late_entered);
    let facts = UnseenGap {
        unseen_s: gap.length_ms() / 1000,
        allowed_s,
        over_s: gap.over_ms()? / 1000,
        stopped_s: gap.stopped_ms / 1000,
        open: gap.to == GapEnd::Now,
        by_hand,
        why,
    };
    let source = judging.gap_source(&zone.id, allowed_s);
    let mut finding = Finding::new(verdict, Facts::UnseenGap(facts), source)
        .in_zone(&zone.id)
        .between(gap.from_ms, gap.to_ms);
    (finding.lines, finding.sealed_after_s) = (lines, gap.sealed_after_ms.map(|ms| ms / 1000));
    Some(finding)
}
