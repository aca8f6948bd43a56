//! # What it finds
//! Looks at many stops that one person wrote in one go, quicker than the stops can be walked to.
//! # Why
//! A log is worth what was written when it was seen: *immediately document* (University of Guelph,
//! fire watch procedure). Rounds invented at a desk are written like this too.
//! # Demand
//! None: our own default of how many stops in how short a time, `standards/site/records`. A route in
//! force on which they can be walked to in that time clears them.
//! # Innocent explanation
//! Stops that stand close together, or looks remembered on the round and written at its end.

use super::faster_than_walked::walk_s;
use super::{Facts, Finding, Judging, Source, Verdict, limits};
use ledger::PersonId;
use record::StopId;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use watch::{Look, Via};

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WrittenInBatch {
    /// Whose looks.
    pub who: PersonId,
    /// How many.
    pub looks: u32,
    /// At how many stops.
    pub stops: u32,
    /// From the first to the last writing, s.
    pub within_s: i64,
}

pub(crate) fn written_in_batch(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    // What is typed from paper or told by telephone comes in one go by its nature, and is said.
    let looks = judging.state.zones.iter().flat_map(|zone| &zone.looks);
    let mut by_person: BTreeMap<&PersonId, Vec<&Look>> = BTreeMap::new();
    for look in looks.filter(|look| look.written.via == Via::Device && look.stop.is_some()) {
        by_person.entry(&look.written.who).or_default().push(look);
    }
    for (who, mut looks) in by_person {
        looks.sort_by_key(|look| (look.written.when.recorded_ms, look.written.line));
        for batch in batches(&looks) {
            findings.extend(judged(judging, who, batch));
        }
    }
}

/// Stretches in which each look was written within the time of the one that begins it; what is in
/// one is in no other.
fn batches<'s, 'l>(looks: &'s [&'l Look]) -> Vec<&'s [&'l Look]> {
    let mut batches = Vec::new();
    let mut from = 0;
    while from < looks.len() {
        let end_ms = looks[from].written.when.recorded_ms + limits::batch_span_s() * 1000;
        let within = |look: &&&Look| look.written.when.recorded_ms <= end_ms;
        let count = looks[from..].iter().take_while(within).count();
        let batch = &looks[from..from + count];
        match stops(batch).len() as i64 >= limits::batch_stops() {
            true => {
                batches.push(batch);
                from += count;
            }
            false => from += 1,
        }
    }
    batches
}

fn stops<'l>(looks: &[&'l Look]) -> BTreeSet<&'l StopId> {
    looks.iter().filter_map(|look| look.stop.as_ref()).collect()
}

fn judged(judging: &Judging<'_>, who: &PersonId, batch: &[&Look]) -> Option<Finding> {
    let (first, last) = (batch.first()?, batch.last()?);
    let within_ms = last.written.when.recorded_ms - first.written.when.recorded_ms;
    let between =
        |pair: &[&Look]| walk_s(judging, who, pair[0].stop.as_ref()?, pair[1].stop.as_ref()?);
    let walk: Option<i64> =
        batch.windows(2).filter(|pair| pair[0].stop != pair[1].stop).map(between).sum();
    if walk.is_some_and(|walk_s| !limits::faster_than_anybody(walk_s, within_ms)) {
        return None;
    }
    let facts = WrittenInBatch {
        who: who.clone(),
        looks: batch.len() as u32,
        stops: stops(batch).len() as u32,
        within_s: within_ms / 1000,
    };
    let events = || batch.iter().map(|look| look.written.when.at_ms);
    let finding = Finding::new(Verdict::Look, Facts::WrittenInBatch(facts), Source::Ours)
        .between(events().min()?, events().max()?)
        .resting_on(batch.iter().map(|look| &look.written));
    Some(finding)
}
