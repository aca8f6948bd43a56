//! # What it finds
//! A line that was written before the time that it states.
//! # Why
//! A log signed ahead says nothing about the night.
//! # Demand
//! None: such a line cannot be true as it stands.
//! # Innocent explanation
//! A mistyped hour.

use super::{Facts, Finding, Judging, Source, Verdict};
use serde::Serialize;
use watch::Written;

/// Times are stated to the minute, so a line may seem to be written up to one before.
const CLOCK_MINUTE_MS: i64 = 60_000;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WrittenBeforeEvent {
    /// How long before, s.
    pub before_s: i64,
    /// The log proves it: it was even received before the time that it states.
    pub proved: bool,
}

pub(crate) fn written_before_event(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for written in stated(judging) {
        let before_ms = -written.when.written_after_ms();
        if before_ms <= CLOCK_MINUTE_MS + written.when.half_width_ms.unwrap_or(0) {
            continue;
        }
        let proved = written.when.sealed.not_after_ms.is_some_and(|ms| ms < written.when.at_ms);
        let facts = WrittenBeforeEvent { before_s: before_ms / 1000, proved };
        findings.push(
            Finding::new(Verdict::Unclear, Facts::WrittenBeforeEvent(facts), Source::Ours)
                .between(written.when.recorded_ms, written.when.at_ms)
                .resting_on([written]),
        );
    }
}

/// Looks and observations; what is planned or released may well lie ahead.
fn stated<'a>(judging: &'a Judging<'_>) -> impl Iterator<Item = &'a Written> {
    let looks = judging.state.zones.iter().flat_map(|zone| &zone.looks).map(|look| &look.written);
    let other = judging.state.communications.iter().map(|told| &told.written);
    looks.chain(other)
}
