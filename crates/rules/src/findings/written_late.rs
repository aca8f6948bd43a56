//! # What it finds
//! Looks whose time was given afterwards, by hand.
//! # Why
//! Late entries are allowed and always said; a reader weighs them differently.
//! # Demand
//! None: said so that it is not overlooked.
//! # Innocent explanation
//! Cold hands, a dead phone, paper typed in the morning.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use serde::Serialize;
use std::collections::BTreeMap;
use watch::{Look, Via};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WrittenLate {
    /// Whose looks.
    pub who: PersonId,
    /// How many.
    pub looks: u32,
    /// Of how many that person has.
    pub of: u32,
    /// How long after the event at most, s.
    pub after_s_max: i64,
    /// How many of them were typed from paper.
    pub paper: u32,
    /// How many of them were told by telephone.
    pub phoned_in: u32,
}

pub(crate) fn written_late(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let mut by_person: BTreeMap<&PersonId, Vec<&Look>> = BTreeMap::new();
    for look in judging.state.zones.iter().flat_map(|zone| &zone.looks) {
        by_person.entry(&look.written.who).or_default().push(look);
    }
    for (who, looks) in by_person {
        let mut late: Vec<&Look> =
            looks.iter().copied().filter(|look| look.marks.late_entered).collect();
        late.sort_by_key(|look| (look.written.when.at_ms, look.written.line));
        let (Some(first), Some(last)) = (late.first(), late.last()) else { continue };
        let after_ms = late.iter().map(|look| look.written.when.written_after_ms()).max();
        let count = |via| late.iter().filter(|look| look.written.via == via).count() as u32;
        let facts = WrittenLate {
            who: who.clone(),
            looks: late.len() as u32,
            of: looks.len() as u32,
            after_s_max: after_ms.unwrap_or(0) / 1000,
            paper: count(Via::Paper),
            phoned_in: count(Via::PhonedIn),
        };
        findings.push(
            Finding::new(Verdict::Look, Facts::WrittenLate(facts), Source::Ours)
                .between(first.written.when.at_ms, last.written.when.at_ms)
                .resting_on(late.iter().map(|look| &look.written)),
        );
    }
}
