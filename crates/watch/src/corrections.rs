//! Corrections: the old line stays, what counts is what the newest corrections that stand say.

use crate::kept::Kept;
use ledger::LineId;
use ledger::order::Set;
use record::{Corrected, Entry, Severity, StopId, WhyCorrected, ZoneId};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What counts of a line after its corrections.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Effective {
    /// When it happened, ms UTC.
    pub at_ms: i64,
    /// Where: the zone.
    pub zone: Option<ZoneId>,
    /// Where: the stop.
    pub stop: Option<StopId>,
    /// How bad, for an observation.
    pub severity: Option<Severity>,
    /// The correction by which it no longer counts.
    pub withdrawn_by: Option<LineId>,
    /// The newest correction that stands.
    pub corrected_by: Option<LineId>,
}

/// A correction and what it changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Correction {
    /// Who corrected, when.
    pub written: crate::Written,
    /// The line that is corrected.
    pub of: LineId,
    /// Why.
    pub why: WhyCorrected,
    /// Whether the line no longer counts.
    pub withdrawn: bool,
    /// The correction itself was taken back.
    pub void: bool,
}

/// Which lines correct which.
#[derive(Debug, Clone, Default)]
pub(crate) struct Corrections {
    of: BTreeMap<LineId, Set<(i64, LineId)>>,
}

impl Corrections {
    pub(crate) fn add(&mut self, kept: &Kept, body: &Corrected) {
        self.of.entry(body.of).or_default().insert((kept.clk.recorded_ms(), kept.id));
    }

    pub(crate) fn remove(&mut self, kept: &Kept, body: &Corrected) {
        if let Some(all) = self.of.get_mut(&body.of) {
            all.remove(&(kept.clk.recorded_ms(), kept.id));
        }
    }

    /// Applies the corrections of a line in the order of their recorded times. A line's id covers
    /// the ids that it names, so corrections of corrections end.
    pub(crate) fn effective(&self, kept: &Kept, lines: &BTreeMap<LineId, Arc<Kept>>) -> Effective {
        let mut effective = Effective {
            at_ms: kept.stated_ms.unwrap_or(kept.clk.recorded_ms()),
            zone: zone_of(&kept.said).cloned(),
            stop: stop_of(&kept.said).cloned(),
            severity: severity_of(&kept.said),
            withdrawn_by: None,
            corrected_by: None,
        };
        for (_, id) in self.of.get(&kept.id).into_iter().flat_map(Set::iter) {
            let Some(correction) = lines.get(id) else { continue };
            let Entry::Corrected(body) = &correction.said else { continue };
            if self.effective(correction, lines).withdrawn_by.is_none() {
                effective.apply(*id, body);
            }
        }
        effective
    }
}

impl Effective {
    fn apply(&mut self, id: LineId, body: &Corrected) {
        self.corrected_by = Some(id);
        self.at_ms = body.at_ms.unwrap_or(self.at_ms);
        self.zone = body.zone.clone().or(self.zone.take());
        self.stop = body.stop.clone().or(self.stop.take());
        self.severity = body.severity.or(self.severity);
        if body.withdrawn {
            self.withdrawn_by = Some(id);
        }
    }
}

fn zone_of(entry: &Entry) -> Option<&ZoneId> {
    match entry {
        Entry::Seen(body) => Some(&body.zone),
        Entry::AccessRefused(body) => Some(&body.zone),
        Entry::Observed(body) => body.zone.as_ref(),
        Entry::Emergency(body) => body.zone.as_ref(),
        Entry::HotWorkPermitted(body) => body.zone.as_ref(),
        Entry::HotWorkBegan(body) => body.zone.as_ref(),
        Entry::LookedBack(body) => body.zone.as_ref(),
        Entry::EquipmentChecked(body) => body.zone.as_ref(),
        _ => None,
    }
}

fn stop_of(entry: &Entry) -> Option<&StopId> {
    match entry {
        Entry::Seen(body) => Some(&body.stop),
        Entry::AccessRefused(body) => Some(&body.stop),
        Entry::Observed(body) => body.stop.as_ref(),
        Entry::Emergency(body) => body.stop.as_ref(),
        _ => None,
    }
}

fn severity_of(entry: &Entry) -> Option<Severity> {
    match entry {
        Entry::Observed(body) => Some(body.severity),
        _ => None,
    }
}
