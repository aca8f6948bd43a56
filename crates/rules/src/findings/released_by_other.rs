//! # What it finds
//! A watch that was ended by somebody who may not end it.
//! # Why
//! A watch ended because the technician said it works has been the last mistake before a fire.
//! # Demand
//! Who may end it, by the terms.
//! # Innocent explanation
//! The right person decided and somebody else wrote it.

use super::{Facts, Finding, Judging, Source, Verdict};
use record::ReleasedBy;
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReleasedByOther {
    /// Who ended it.
    pub by: ReleasedBy,
    /// Who may.
    pub may: Vec<ReleasedBy>,
    /// Whether the release is in writing.
    pub in_writing: bool,
}

pub(crate) fn released_by_other(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(release) = judging.state.released() else { return };
    let may = judging.owed().map(|owed| owed.release_by.clone()).unwrap_or_default();
    if may.is_empty() {
        return;
    }
    let verdict = if may.contains(&release.by) { Verdict::Kept } else { Verdict::Broken };
    let facts = ReleasedByOther { by: release.by, may, in_writing: release.in_writing };
    let source = judging.source("release_by").unwrap_or(Source::Terms);
    findings.push(
        Finding::new(verdict, Facts::ReleasedByOther(facts), source)
            .between(release.at_ms, release.at_ms)
            .resting_on([&release.written]),
    );
}
