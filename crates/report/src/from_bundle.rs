//! From a bundle to what a report rests on: the fold of its watch and its documents.

use crate::pdf::Paper;
use crate::request::{Copy, Documents, Issue, Request, Unaltered};
use bundle::{Opened, SealedLine};
use ledger::{Digest, HeadRef, WatchId};
use record::Entry;
use record::documents::{Document, SiteCard, Terms};
use std::collections::BTreeMap;
use watch::Watch;
use words::Lang;

/// A bundle, folded.
#[derive(Debug)]
pub struct Folded {
    /// The watch.
    pub watch: Watch,
    /// The documents that are in force at its end, and its pictures.
    pub documents: Documents,
    /// The head that it was checked against.
    pub head: Option<HeadRef>,
    /// Whether it held.
    pub unaltered: Unaltered,
    /// The last time that the bundle proves, ms UTC: receipt of its last line.
    pub last_rx_ms: Option<i64>,
}

impl Folded {
    /// The request for the whole watch as the last line leaves it: the house's own copy, English, A4, a
    /// first issue. Whoever wants it otherwise changes what differs.
    pub fn whole(&self) -> Request<'_> {
        let about_ms = self.last_rx_ms.unwrap_or_default();
        Request {
            watch: &self.watch,
            about_ms,
            stretch: None,
            documents: &self.documents,
            head: self.head.clone(),
            unaltered: self.unaltered,
            copy: Copy::House,
            issue: Issue::first(about_ms),
            amends: None,
            lang: Lang::En,
            paper: Paper::A4,
            bundle: None,
        }
    }
}

/// A bundle that tells of no watch at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("no line of any watch could be read in this bundle: run `rattlewatch verify` on it")]
pub struct NoWatch;

/// Folds a bundle. One that does not verify is folded as far as its lines hold.
pub fn from_bundle(opened: Opened) -> Result<Folded, NoWatch> {
    let Opened { verdict, lines, blobs } = opened;
    let of_watch = |line: &&SealedLine| !line.line.watch.is_org();
    let id =
        verdict.watch.clone().or_else(|| Some(lines.iter().find(of_watch)?.line.watch.clone()));
    let id: WatchId = id.ok_or(NoWatch)?;
    let last_rx_ms = lines.iter().map(|line| line.leaf.rx).max();
    let mut watch = Watch::new(id);
    for line in lines {
        watch.add(line.held());
    }
    let documents = documents(&watch, blobs);
    let head = verdict.head.as_ref().map(|head| HeadRef {
        origin: head.origin.clone(),
        size: head.size,
        root: head.root,
    });
    let unaltered = match verdict.ok {
        true => Unaltered::Checked,
        false => Unaltered::Faults(verdict.faults.len().max(1) as u64),
    };
    Ok(Folded { watch, documents, head, unaltered, last_rx_ms })
}

/// The newest documents that lines name and the bundle holds.
fn documents(watch: &Watch, mut blobs: BTreeMap<Digest, Vec<u8>>) -> Documents {
    let mut documents = Documents::default();
    let mut lines: Vec<_> = watch.lines().collect();
    lines.sort_by_key(|line| (line.clk.recorded_ms(), line.dev, line.seq));
    for line in lines {
        match &line.said {
            Entry::WatchOpened(body) => {
                let card = blobs.get(&body.card).and_then(|bytes| SiteCard::parse(bytes).ok());
                documents.card = card.or(documents.card.take());
            }
            Entry::PlanSet(body) => {
                let plan =
                    blobs.get(&body.plan).and_then(|bytes| floorplan::Plan::read(bytes).ok());
                documents.plan = plan.or(documents.plan.take());
            }
            Entry::TermsSet(body) => {
                let terms = blobs.get(&body.terms).and_then(|bytes| Terms::parse(bytes).ok());
                documents.terms = terms.or(documents.terms.take());
            }
            _ => {}
        }
        if let Some(digest) = picture_of(&line.said).or(line.page)
            && let Some(bytes) = blobs.remove(&digest)
        {
            documents.pictures.insert(digest, bytes);
        }
    }
    documents
}

/// The picture that an entry names: a photo, a drawn signature.
fn picture_of(entry: &Entry) -> Option<Digest> {
    match entry {
        Entry::Photo(body) => Some(body.blob),
        Entry::ShiftEnded(body) => body.signature,
        Entry::Countersigned(body) => body.signature,
        _ => None,
    }
}
