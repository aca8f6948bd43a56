//! # What it finds
//! One person recorded as seen in two zones within the same minute on two devices.
//! # Why
//! Nobody is in two places.
//! # Demand
//! None: both cannot be true.
//! # Innocent explanation
//! Somebody lent a phone, or typed a look of another guard under the wrong name.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::PersonId;
use record::ZoneId;
use serde::Serialize;
use std::collections::BTreeMap;
use watch::{Look, Via};

/// Times are told to the minute.
const CLOCK_MINUTE_MS: i64 = 60_000;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TwoPlaces {
    /// Who.
    pub who: PersonId,
    /// The other zone.
    pub other: ZoneId,
    /// How far apart in time, s.
    pub apart_s: i64,
}

pub(crate) fn two_places(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let mut by_person: BTreeMap<&PersonId, Vec<(&Look, &ZoneId)>> = BTreeMap::new();
    for zone in &judging.state.zones {
        for look in zone.looks.iter().filter(|look| look.written.via == Via::Device) {
            by_person.entry(&look.written.who).or_default().push((look, &zone.id));
        }
    }
    for (who, mut looks) in by_person {
        looks.sort_by_key(|(look, _)| (look.written.when.at_ms, look.written.line));
        for pair in looks.windows(2) {
            let ((a, first), (b, second)) = (pair[0], pair[1]);
            let apart_ms = b.written.when.at_ms - a.written.when.at_ms;
            if first == second || a.written.dev == b.written.dev || apart_ms >= CLOCK_MINUTE_MS {
                continue;
            }
            let facts =
                TwoPlaces { who: who.clone(), other: first.clone(), apart_s: apart_ms / 1000 };
            findings.push(
                Finding::new(Verdict::Unclear, Facts::TwoPlaces(facts), Source::Ours)
                    .in_zone(second)
                    .between(a.written.when.at_ms, b.written.when.at_ms)
                    .resting_on([&a.written, &b.written]),
            );
        }
    }
}
