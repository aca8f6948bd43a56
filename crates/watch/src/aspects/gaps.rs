//! Gaps: the stretches between two looks at a zone, with both columns.

use super::emergencies::Emergency;
use crate::due::Epochs;
use crate::looks::Look;
use crate::time::Doubt;
use ledger::{LineId, order};
use serde::Serialize;

/// A stretch in which a zone was not recorded as seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub to_ms: i64,
    /// What begins it.
    pub from: GapEnd,
    /// What ends it.
    pub to: GapEnd,
    /// By when the zone had to be seen, if a gap was set, ms UTC.
    pub due_ms: Option<i64>,
    /// The gap that was allowed, s.
    pub allowed_s: Option<u32>,
    /// How much of it the rounds were stopped by an emergency, ms.
    pub stopped_ms: i64,
    /// How wrong its length can be, ms; none if unknown.
    pub error_ms: Option<i64>,
    /// Why its recorded time may not be judged by.
    pub doubt: Option<Doubt>,
    /// How long after they were written the lines at both ends were sealed, ms; none while one is not.
    pub sealed_after_ms: Option<i64>,
}

/// What a gap begins or ends with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum GapEnd {
    /// Looks begin to be owed.
    Begun,
    /// A look.
    Look(LineId),
    /// The watch is over.
    Over,
    /// The instant asked about: the gap is still open.
    Now,
}

impl Gap {
    /// Its length, ms.
    pub fn length_ms(&self) -> i64 {
        self.to_ms - self.from_ms
    }

    /// By how much it is over what was allowed, ms; not positive if it is not.
    pub fn over_ms(&self) -> Option<i64> {
        Some(self.to_ms - self.due_ms?)
    }

    /// The lines at its ends.
    pub fn lines(&self) -> Vec<LineId> {
        [self.from, self.to]
            .into_iter()
            .filter_map(|end| match end {
                GapEnd::Look(line) => Some(line),
                GapEnd::Begun | GapEnd::Over | GapEnd::Now => None,
            })
            .collect()
    }
}

/// The gaps of a zone between `from_ms` and `until_ms`, given its looks in order.
pub(crate) fn gaps(
    looks: &[Look],
    (from_ms, until_ms): (i64, i64),
    end: GapEnd,
    epochs: &Epochs,
    stopped: &Stopped,
) -> Vec<Gap> {
    let inside: Vec<&Look> = looks
        .iter()
        .filter(|look| (from_ms..=until_ms).contains(&look.at_ms(until_ms, end)))
        .collect();
    let mut gaps = Vec::with_capacity(inside.len() + 1);
    let mut before: Option<&Look> = None;
    for look in inside {
        gaps.push(gap(before, Some(look), (from_ms, until_ms), end, epochs, stopped));
        before = Some(look);
    }
    if until_ms > from_ms || (until_ms == from_ms && end == GapEnd::Now) {
        gaps.push(gap(before, None, (from_ms, until_ms), end, epochs, stopped));
    }
    gaps
}

fn gap(
    before: Option<&Look>,
    after: Option<&Look>,
    (from_ms, until_ms): (i64, i64),
    end: GapEnd,
    epochs: &Epochs,
    stopped: &Stopped,
) -> Gap {
    let from = before.map_or(from_ms, |look| look.at_ms(until_ms, end));
    let to = after.map_or(until_ms, |look| look.at_ms(until_ms, end));
    let due = epochs.due(from, stopped);
    Gap {
        from_ms: from,
        to_ms: to,
        from: before.map_or(GapEnd::Begun, |look| GapEnd::Look(look.written.line)),
        to: after.map_or(end, |look| GapEnd::Look(look.written.line)),
        due_ms: due.map(|(due_ms, _)| due_ms),
        allowed_s: due.map(|(_, allowed_s)| allowed_s),
        stopped_ms: stopped.within(from, to),
        error_ms: error_ms(before, after, to - from),
        doubt: [before, after].into_iter().flatten().find_map(|look| look.written.when.doubt),
        sealed_after_ms: sealed_after_ms([before, after].into_iter().flatten()),
    }
}

/// Two looks of one device rest on one offset, so its error drops out and only the drift of the
/// clock between them (100 ppm) is left; otherwise both errors count.
fn error_ms(before: Option<&Look>, after: Option<&Look>, length_ms: i64) -> Option<i64> {
    match (before, after) {
        (Some(a), Some(b)) if a.written.dev == b.written.dev => Some(length_ms / 10_000),
        (a, b) => [a, b]
            .into_iter()
            .flatten()
            .try_fold(0, |sum, look| Some(sum + look.written.when.half_width_ms?)),
    }
}

fn sealed_after_ms<'l>(looks: impl Iterator<Item = &'l Look>) -> Option<i64> {
    looks
        .map(|look| look.written.when.sealed_after_ms())
        .try_fold(0, |most, after| Some(most.max(after?)))
}

impl Look {
    /// When it happened; a look whose clock runs ahead of its receipt happened before that. One that was received by
    /// now has happened by now; after the end of the watch it may well have been.
    fn at_ms(&self, until_ms: i64, end: GapEnd) -> i64 {
        let at_ms = self.written.when.at_ms;
        match self.written.when.sealed.not_after_ms {
            Some(sealed_ms) if at_ms > until_ms => {
                let latest_ms = if end == GapEnd::Now { until_ms } else { i64::MAX };
                at_ms.min(sealed_ms).min(latest_ms)
            }
            _ => at_ms,
        }
    }
}

/// The stretches in which an emergency in earnest stopped the rounds, in order, apart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Stopped(Vec<(i64, i64)>);

impl Stopped {
    pub(crate) fn of(emergencies: &[Emergency], until_ms: i64) -> Stopped {
        let mut all: Vec<(i64, i64)> = emergencies
            .iter()
            .filter_map(|emergency| {
                let (from_ms, to_ms) = emergency.rounds_stopped?;
                Some((from_ms, to_ms.unwrap_or(until_ms)))
            })
            .filter(|(from_ms, to_ms)| to_ms > from_ms)
            .collect();
        order::sort_by(&mut all, Ord::cmp);
        let mut apart: Vec<(i64, i64)> = Vec::with_capacity(all.len());
        for (from_ms, to_ms) in all {
            match apart.last_mut() {
                Some(last) if from_ms <= last.1 => last.1 = last.1.max(to_ms),
                _ => apart.push((from_ms, to_ms)),
            }
        }
        Stopped(apart)
    }

    #[cfg(test)]
    pub(crate) fn from_stretches(apart: Vec<(i64, i64)>) -> Stopped {
        Stopped(apart)
    }

    /// How long the rounds were stopped within a stretch, ms.
    pub(crate) fn within(&self, from_ms: i64, to_ms: i64) -> i64 {
        self.0.iter().map(|(start, end)| (to_ms.min(*end) - from_ms.max(*start)).max(0)).sum()
    }

    /// The instant at which `gap_s` of time without a stop have passed since `from_ms`.
    pub(crate) fn after(&self, from_ms: i64, gap_s: u32) -> i64 {
        let mut at_ms = from_ms.saturating_add(i64::from(gap_s) * 1000);
        for (start, end) in &self.0 {
            if *end > from_ms && *start < at_ms {
                at_ms += end - from_ms.max(*start);
            }
        }
        at_ms
    }

    /// Whether the rounds are stopped at an instant.
    pub(crate) fn at(&self, at_ms: i64) -> bool {
        self.0.iter().any(|(start, end)| (*start..=*end).contains(&at_ms))
    }
}
