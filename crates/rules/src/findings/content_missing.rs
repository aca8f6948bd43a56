//! # What it finds
//! Something that the terms want in the record and that is not there: instructions read, a
//! signature, a review, an entry for each structure entered.
//! # Why
//! A log without its header and signatures is not the log that was asked for.
//! # Demand
//! What the terms say must be written, each with its source.
//! # Innocent explanation
//! It was done and not written, or written on paper that has not been typed yet.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ContentMissing {
    /// What is missing.
    pub what: Missing,
    /// In whose shift, if in one.
    pub who: Option<PersonId>,
}

/// What can be missing; the written form is the name of the demand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// The instructions were not read.
    InstructionsRead,
    /// The shift was not signed.
    Signature,
    /// Nobody of the house read the record.
    Review,
    /// No entry for a structure that was entered and inspected.
    StructureEntries,
}

impl Missing {
    fn demand(self) -> &'static str {
        match self {
            Missing::InstructionsRead => "instructions_read",
            Missing::Signature => "signature",
            Missing::Review => "review",
            Missing::StructureEntries => "structure_entries",
        }
    }
}

pub(crate) fn content_missing(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let Some(owed) = judging.owed() else { return };
    for shift in
        judging.state.shifts.iter().filter(|shift| shift.until_ms.is_some() || judging.is_over())
    {
        let to_ms = shift.until_ms.unwrap_or(judging.state.cover.until_ms);
        let mut missing = |what| {
            let facts = ContentMissing { what, who: Some(shift.who.clone()) };
            let lines = [Some(&shift.began), shift.ended.as_ref()];
            let finding = finding(judging, facts).between(shift.from_ms, to_ms);
            findings.push(finding.resting_on(lines.into_iter().flatten()));
        };
        if owed.instructions_read && shift.instructions_read.is_empty() {
            missing(Missing::InstructionsRead);
        }
        if owed.signature && shift.signature.is_none() {
            missing(Missing::Signature);
        }
    }
    if !judging.is_over() {
        return;
    }
    let mut of_the_watch = |what| {
        let finding = finding(judging, ContentMissing { what, who: None });
        let from_ms = judging.state.cover.from_ms.unwrap_or(judging.state.cover.until_ms);
        findings.push(finding.between(from_ms, judging.state.cover.until_ms));
    };
    if owed.review && judging.state.reviews.iter().all(|review| review.countersigned) {
        of_the_watch(Missing::Review);
    }
    if owed.structure_entries && judging.state.structures.is_empty() {
        of_the_watch(Missing::StructureEntries);
    }
}

fn finding(judging: &Judging<'_>, facts: ContentMissing) -> Finding {
    let source = judging.source(facts.what.demand()).unwrap_or(Source::Terms);
    Finding::new(Verdict::Broken, Facts::ContentMissing(facts), source)
}
