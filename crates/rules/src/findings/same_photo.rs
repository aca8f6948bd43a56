//! # What it finds
//! The same picture, byte by byte, sent with two different lines.
//! # Why
//! A picture shows one moment.
//! # Demand
//! None: a place to look at.
//! # Innocent explanation
//! It was attached to a second observation on purpose, or sent twice by a bad connection.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::Digest;
use serde::Serialize;
use std::collections::BTreeMap;
use watch::Picture;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SamePhoto {
    /// The picture.
    pub blob: Digest,
    /// How often it was sent.
    pub times: u32,
}

pub(crate) fn same_photo(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    let mut by_blob: BTreeMap<Digest, Vec<&Picture>> = BTreeMap::new();
    for picture in &judging.state.pictures {
        by_blob.entry(picture.blob).or_default().push(picture);
    }
    for (blob, pictures) in by_blob.into_iter().filter(|(_, pictures)| pictures.len() > 1) {
        let facts = SamePhoto { blob, times: pictures.len() as u32 };
        let (first, last) = (pictures[0], pictures[pictures.len() - 1]);
        findings.push(
            Finding::new(Verdict::Look, Facts::SamePhoto(facts), Source::Ours)
                .between(first.written.when.at_ms, last.written.when.at_ms)
                .resting_on(pictures.iter().map(|picture| &picture.written)),
        );
    }
}
