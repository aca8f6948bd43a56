//! # What it finds
//! A round that was ended with a statement and has no looks in it, or fewer than its phone
//! counted.
//! # Why
//! A statement without looks is a claim about nothing; fewer looks than were counted means that
//! lines are missing.
//! # Demand
//! None: a place to look at.
//! # Innocent explanation
//! The looks are on paper, or were taken back.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use serde::Serialize;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SilentRound {
    /// Whose round.
    pub who: PersonId,
    /// Its number.
    pub round: u32,
    /// How many looks it has.
    pub looks: u32,
    /// How many its phone counted.
    pub stated: u32,
    /// It was stated to be clear.
    pub all_clear: bool,
}

pub(crate) fn silent_round(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for round in &judging.state.rounds {
        let (Some(until_ms), Some(stated)) = (round.until_ms, round.seen_stated) else { continue };
        let looks = round.seen.iter().filter(|seen| seen.at_ms <= until_ms).count() as u32;
        if looks > 0 && looks >= stated {
            continue;
        }
        let facts = SilentRound {
            who: round.who.clone(),
            round: round.number,
            looks,
            stated,
            all_clear: round.all_clear.unwrap_or(false),
        };
        findings.push(
            Finding::new(Verdict::Look, Facts::SilentRound(facts), Source::Ours)
                .between(round.from_ms, until_ms)
                .resting_on([&round.began, &round.ended].into_iter().flatten()),
        );
    }
}
