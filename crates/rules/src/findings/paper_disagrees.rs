//! # What it finds
//! Paper or a telephone call that puts a guard in one zone while the guard's phone recorded
//! another in the same minute.
//! # Why
//! Both records cannot be true.
//! # Demand
//! None: the evidence conflicts.
//! # Innocent explanation
//! A minute misread from the sheet.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use record::ZoneId;
use serde::Serialize;
use watch::{Look, Via};

/// A sheet tells the minute.
const CLOCK_MINUTE_MS: i64 = 60_000;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PaperDisagrees {
    /// Whose look.
    pub who: PersonId,
    /// The zone that the phone recorded.
    pub phone: ZoneId,
    /// How far apart in time, s.
    pub apart_s: i64,
}

pub(crate) fn paper_disagrees(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for (zone, told) in looks(judging).filter(|(_, look)| look.written.via != Via::Device) {
        let at_ms = told.written.when.at_ms;
        let apart_ms = |look: &Look| (look.written.when.at_ms - at_ms).abs();
        let conflict = looks(judging)
            .filter(|(other, look)| *other != zone && look.written.via == Via::Device)
            .filter(|(_, look)| look.written.who == told.written.who)
            .find(|(_, look)| apart_ms(look) < CLOCK_MINUTE_MS);
        let Some((phone, look)) = conflict else { continue };
        let facts = PaperDisagrees {
            who: told.written.who.clone(),
            phone: phone.clone(),
            apart_s: apart_ms(look) / 1000,
        };
        findings.push(
            Finding::new(Verdict::Unclear, Facts::PaperDisagrees(facts), Source::Ours)
                .in_zone(zone)
                .between(at_ms, at_ms)
                .resting_on([&told.written, &look.written]),
        );
    }
}

fn looks<'a>(judging: &'a Judging<'_>) -> impl Iterator<Item = (&'a ZoneId, &'a Look)> {
    judging.state.zones.iter().flat_map(|zone| zone.looks.iter().map(|look| (&zone.id, look)))
}
