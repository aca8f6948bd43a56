//! # What it finds
//! A party that had to be told of an impairment and was not, or was told late.
//! # Why
//! The fire service plans by what it knows to be out; insurers refuse claims for a late notice.
//! # Demand
//! Whom the terms name, and by when.
//! # Innocent explanation
//! The call was made and not written.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::documents::NoticeOwed as Owed;
use record::{Party, System};
use serde::Serialize;
use watch::{Impairment, Notification};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NoticeOwed {
    /// Who must be told.
    pub party: Party,
    /// Of which system.
    pub system: System,
    /// How long after it was known they were told, s; none if not.
    pub after_s: Option<i64>,
    /// Within how long, s; none where no source states a number: at once.
    pub within_s: Option<u32>,
}

pub(crate) fn notice_owed(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(owed) = judging.owed() else { return };
    for impairment in &judging.state.impairments {
        for notice in &owed.notify {
            findings.extend(judge(judging, impairment, notice));
        }
    }
}

fn judge(judging: &Judging<'_>, impairment: &Impairment, owed: &Owed) -> Option<Finding> {
    let known_ms = impairment.written.when.recorded_ms.max(impairment.from_ms);
    let told = told(judging, impairment, owed.party);
    let due_ms = owed.within_s.map(|within_s| known_ms + i64::from(within_s) * 1000);
    let verdict = match (told, due_ms) {
        (Some(told), Some(due_ms)) if told.written.when.at_ms > due_ms => Verdict::Broken,
        (Some(_), _) => Verdict::Kept,
        (None, Some(due_ms)) if judging.state.about_ms > due_ms => Verdict::Broken,
        (None, None) if judging.is_over() => Verdict::Broken,
        (None, _) => Verdict::Look,
    };
    let facts = NoticeOwed {
        party: owed.party,
        system: impairment.system,
        after_s: told.map(|told| (told.written.when.at_ms - known_ms).max(0) / 1000),
        within_s: owed.within_s,
    };
    let to_ms = told.map_or(judging.state.cover.until_ms, |told| told.written.when.at_ms);
    let source = judging.source("notify").unwrap_or(Source::Terms);
    let lines = [Some(&impairment.written), told.map(|told| &told.written)];
    let finding = Finding::new(verdict, Facts::NoticeOwed(facts), source);
    Some(finding.between(known_ms, to_ms.max(known_ms)).resting_on(lines.into_iter().flatten()))
}

fn told<'a>(
    judging: &'a Judging<'_>,
    impairment: &Impairment,
    party: Party,
) -> Option<&'a Notification> {
    let mut all = judging.state.notifications.iter();
    all.find(|n| n.party == party && !n.restored && n.system.is_none_or(|s| s == impairment.system))
}
