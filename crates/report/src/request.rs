//! What paper is asked for: from which record, about when, for whom, in which language.

use crate::pdf::Paper;
use crate::stretch::Stretch;
use ledger::{Digest, HeadRef};
use record::documents::{SiteCard, Terms};
use std::collections::BTreeMap;
use watch::Watch;
use words::Lang;

/// What the record's documents say: read from its blobs by whoever holds them.
#[derive(Debug, Clone, Default)]
pub struct Documents {
    /// The site's card.
    pub card: Option<SiteCard>,
    /// Its plan.
    pub plan: Option<floorplan::Plan>,
    /// The terms with their sources.
    pub terms: Option<Terms>,
    /// Pictures by digest.
    pub pictures: BTreeMap<Digest, Vec<u8>>,
}

/// Whether the lines are as they were signed and sealed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unaltered {
    /// The bundle verified.
    Checked,
    /// It did not: said on every page.
    Faults(u64),
}

/// Who reads it. Findings that only ask somebody to look stay off a client's paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Copy {
    /// The own house.
    House,
    /// Client, authority, insurer.
    #[default]
    Client,
}

/// Which report this is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Issue {
    /// 1 for the first; each amendment counts on.
    pub number: u32,
    /// When it is issued, ms UTC.
    pub issued_ms: i64,
}

impl Issue {
    /// A first report.
    pub fn first(issued_ms: i64) -> Issue {
        Issue { number: 1, issued_ms }
    }
}

/// The report that an amendment replaces.
#[derive(Debug, Clone, Copy)]
pub struct Amended<'a> {
    /// The watch as that report knew it.
    pub watch: &'a Watch,
    /// When the first report of this stretch was issued, ms UTC.
    pub first_issued_ms: i64,
    /// When the one before was issued, ms UTC.
    pub issued_ms: i64,
}

/// Everything that a paper rests on.
pub struct Request<'a> {
    /// The watch.
    pub watch: &'a Watch,
    /// The instant that it is about, ms UTC.
    pub about_ms: i64,
    /// The stretch to report; the whole watch if none is given.
    pub stretch: Option<Stretch>,
    /// The documents of the record.
    pub documents: &'a Documents,
    /// The head that the record was checked against.
    pub head: Option<HeadRef>,
    /// Whether it held.
    pub unaltered: Unaltered,
    /// Who reads it.
    pub copy: Copy,
    /// Which report this is.
    pub issue: Issue,
    /// What it amends, if it is not the first.
    pub amends: Option<Amended<'a>>,
    /// The language.
    pub lang: Lang,
    /// The sheet.
    pub paper: Paper,
    /// Digest of the bundle's file, if it was read from one.
    pub bundle: Option<Digest>,
}
