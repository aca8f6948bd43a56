//! Impairments: systems that are out, since when, who was told, what was done to bring them back.

use super::communications::Notification;
use super::opening::Opened;
use crate::fold::Item;
use crate::time::Written;
use ledger::{LineId, order};
use record::{ImpairmentFound, ImpairmentRestored, ImpairmentStep, RestorationStep, System};
use serde::Serialize;
use std::collections::BTreeSet;

/// One outage of one system.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Impairment {
    /// The line that stated it: found, or the opening that named it.
    pub written: Written,
    /// Which system.
    pub system: System,
    /// Since when, ms UTC.
    pub from_ms: i64,
    /// Planned, if it was said.
    pub planned: Option<bool>,
    /// Expected back, ms UTC.
    pub expected_ms: Option<i64>,
    /// Steps done at its beginning.
    pub steps: BTreeSet<ImpairmentStep>,
    /// The line that stated that it works again.
    pub restored: Option<Written>,
    /// Since when it works again, ms UTC.
    pub until_ms: Option<i64>,
    /// Steps done at its end.
    pub restoration: BTreeSet<RestorationStep>,
    /// Lines by which somebody was told of it or of its end.
    pub told: Vec<LineId>,
}

#[derive(Default)]
pub(crate) struct Fold {
    found: Vec<Impairment>,
    restored: Vec<(Written, ImpairmentRestored)>,
}

impl Fold {
    pub(crate) fn found(&mut self, item: &Item<'_>, body: &ImpairmentFound) {
        self.found.push(Impairment {
            planned: Some(body.planned),
            expected_ms: body.expected_ms,
            steps: body.steps.iter().copied().collect(),
            ..Impairment::since(&item.written, body.system, body.from_ms)
        });
    }

    pub(crate) fn restored(&mut self, item: &Item<'_>, body: &ImpairmentRestored) {
        self.restored.push((item.written.clone(), body.clone()));
    }

    pub(crate) fn finish(self, opened: &Opened, notified: &[Notification]) -> Vec<Impairment> {
        let Fold { found, restored } = self;
        let mut all: Vec<Impairment> = Vec::new();
        let named = opened.opening.iter().flat_map(|opening| {
            opening
                .out
                .iter()
                .map(|system| Impairment::since(&opening.written, *system, opening.from_ms))
        });
        let mut found: Vec<Impairment> = named.chain(found).collect();
        order::sort_by_key(&mut found, |i| {
            (i.system, i.from_ms, i.planned.is_none(), i.written.line)
        });
        for one in found {
            let end_ms = restored
                .iter()
                .filter(|(_, r)| r.system == one.system && r.at_ms >= one.from_ms)
                .map(|(_, r)| r.at_ms)
                .min();
            match all.last_mut() {
                Some(last) if last.system == one.system && last.until_ms == end_ms => {
                    last.join(one)
                }
                _ => all.push(Impairment { until_ms: end_ms, ..one }),
            }
        }
        for impairment in &mut all {
            impairment.end(&restored);
            impairment.told = notified
                .iter()
                .filter(|n| n.system.is_none_or(|system| system == impairment.system))
                .filter(|n| n.written.when.at_ms >= impairment.from_ms)
                .map(|n| n.written.line)
                .collect();
        }
        order::sort_by_key(&mut all, |i| (i.from_ms, i.system));
        all
    }
}

impl Impairment {
    fn since(written: &Written, system: System, from_ms: i64) -> Impairment {
        Impairment {
            written: written.clone(),
            system,
            from_ms,
            planned: None,
            expected_ms: None,
            steps: BTreeSet::new(),
            restored: None,
            until_ms: None,
            restoration: BTreeSet::new(),
            told: Vec::new(),
        }
    }

    /// The same outage stated again: steps add up, the newest expectation counts.
    fn join(&mut self, other: Impairment) {
        self.steps.extend(other.steps);
        self.planned = self.planned.or(other.planned);
        self.expected_ms = other.expected_ms.or(self.expected_ms);
    }

    /// Steps of a restoration may be stated one after the other.
    fn end(&mut self, restored: &[(Written, ImpairmentRestored)]) {
        let Some(until_ms) = self.until_ms else { return };
        let mine =
            || restored.iter().filter(|(_, r)| r.system == self.system && r.at_ms == until_ms);
        self.restored = mine().next().map(|(written, _)| written.clone());
        self.restoration = restored
            .iter()
            .filter(|(_, r)| r.system == self.system && r.at_ms >= until_ms)
            .flat_map(|(_, r)| r.steps.iter().copied())
            .collect();
    }
}
