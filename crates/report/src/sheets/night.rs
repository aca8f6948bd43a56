//! The night report as plain data. Page one answers, in this order: kept or not and by how much;
//! rounds due, on time, late, stopped; dial and table; what was owed and by which source; what
//! happened; who goes on; are the lines unaltered and what that does not show.

use crate::pdf::{Document, Paper, PdfFault, set};
use serde::Serialize;
use std::collections::BTreeMap;

/// The whole report, ready to be placed. Texts are in one language and final.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Default)]
pub struct NightSheet {
    /// BCP 47 tag of the texts.
    pub lang: String,
    /// Size of the sheet.
    pub paper: Paper,
    /// The site.
    pub title: String,
    /// Street and town.
    pub address: Option<String>,
    /// What this is, which night, who.
    pub subtitle: String,
    /// Said on every page: a drill, a demonstration, a bundle that did not verify.
    pub warning: Option<String>,
    /// What a report of a part covers.
    pub covers: Option<String>,
    /// Which report this is, and when it was issued.
    pub issue: String,
    /// What an amendment changes, in a few sentences.
    pub changes: Option<Lines>,
    /// Kept or not and by how much.
    pub verdict: String,
    /// Rounds due, on time, late, stopped.
    pub rounds: String,
    /// The dial as SVG with its inks inside.
    #[serde(skip)]
    pub dial_svg: String,
    /// The dial in words.
    pub dial_says: String,
    /// The table's head: zone, longest, allowed, judged, sealed.
    pub zone_head: [String; 5],
    /// The dial's accessible twin.
    pub zones: Vec<ZoneRow>,
    /// How it was recorded as seen, what was sealed late.
    pub zone_notes: Vec<String>,
    /// The head of what was owed and of findings: what, source.
    pub owed_head: [String; 2],
    /// The head of what happened: time, what, state.
    pub happened_head: [String; 3],
    /// What was owed.
    pub owed: Section<OwedRow>,
    /// What happened.
    pub happened: Section<HappenedRow>,
    /// Who was told, in one sentence.
    pub told: String,
    /// Who goes on.
    pub goes_on: Lines,
    /// The code of the head as SVG.
    #[serde(skip)]
    pub head_svg: String,
    /// The head in words, as the alternative to the code.
    pub head_says: String,
    /// Whether the lines are unaltered; bold.
    pub unaltered: String,
    /// What that does not show, how much was received when, the head, who decides.
    pub integrity: Vec<String>,
    /// The head of the changed lines: happened, written, received, who, what.
    pub changed_head: [String; 5],
    /// The lines that an amendment adds or changes.
    pub changed: Section<ChangedRow>,
    /// Findings that are new, and those that no longer stand.
    pub changed_findings: Lines,
    /// Findings with their sources.
    pub findings: Section<OwedRow>,
    /// The log's head: happened, written, who, what.
    pub log_head: [String; 4],
    /// Every line.
    pub log: Section<LogRow>,
    /// Signatures and reviews.
    pub signatures: Lines,
    /// Whom to ring.
    pub directory: Lines,
    /// What is signed with a pen.
    pub to_sign: Lines,
    /// Where the log is kept.
    pub keep: String,
    /// Pictures of pages that lines were typed from, with their digests.
    pub paper_pages: Section<Photo>,
    /// Photos with their digests.
    pub photos: Section<Photo>,
    /// That pictures are printed smaller than they are.
    pub photos_note: String,
    /// `Page {page} of {pages}` with the two blanks.
    pub page_words: [String; 3],
    /// What stands where a list of page one goes on later.
    pub cut: Cut,
}

/// The words that stand where a list of page one goes on later. The template knows the numbers, and puts
/// them in place of `<count>`, `<open>`, `<over>` and `<page>`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Default)]
pub struct Cut {
    /// What else happened.
    pub happened: String,
    /// What else was owed.
    pub owed: String,
    /// Further zones.
    pub zones: String,
    /// Heads the whole list of what was owed.
    pub owed_all: String,
    /// Heads the whole list of what happened.
    pub happened_all: String,
    /// Heads the whole table of zones.
    pub zones_all: String,
}

/// A heading and its rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Section<T> {
    /// The heading.
    pub title: String,
    /// The rows.
    pub rows: Vec<T>,
    /// What stands there if there are none.
    pub none: String,
}

impl<T> Default for Section<T> {
    fn default() -> Section<T> {
        Section { title: String::new(), rows: Vec::new(), none: String::new() }
    }
}

/// A heading and its paragraphs.
pub type Lines = Section<String>;

/// One zone of the table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ZoneRow {
    /// Its name.
    pub name: String,
    /// The longest gap.
    pub longest: String,
    /// The allowed one.
    pub allowed: String,
    /// How soon it was sealed.
    pub sealed: String,
    /// `over` or `unclear`, or nothing.
    pub over: Option<String>,
    /// `kept`, or that there is nothing to judge by; stands where nothing is over.
    pub judged: String,
}

/// A demand or a finding and where it comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OwedRow {
    /// What.
    pub what: String,
    /// By which source.
    pub source: String,
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HappenedRow {
    /// The local time.
    pub time: String,
    /// What happened and what was done.
    pub what: String,
    /// Open, closed, or where to read on.
    pub state: String,
    /// An emergency stands out.
    pub bold: bool,
    /// Still open at the end of the stretch.
    pub open: bool,
    /// It was found before the stretch and was open when that began.
    #[serde(skip)]
    pub still_open: bool,
    /// Its place among all rows by weight, the weightiest first: where page one has no room for all, the
    /// last give way.
    pub place: usize,
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LogRow {
    /// The day that begins with it.
    pub day: Option<String>,
    /// The time of the event.
    pub happened: String,
    /// The time of the entry.
    pub written: String,
    /// Who.
    pub who: String,
    /// What it states.
    pub what: Cell,
}

/// A line that an amendment adds or changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChangedRow {
    /// The time of the event; with the one that the report before had, if that differs.
    pub happened: String,
    /// The time of the entry.
    pub written: String,
    /// When the server received it.
    pub received: String,
    /// Who.
    pub who: String,
    /// What it states and how it changed.
    pub what: Cell,
}

/// What a line states, the words its writer used, and the marks it carries.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Default)]
pub struct Cell {
    /// What it states.
    pub says: String,
    /// The writer's own words.
    pub words: Vec<String>,
    /// Late, corrected, phoned in, from paper.
    pub marks: Vec<String>,
}

/// A photo.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Photo {
    /// Its file among the pictures, if its bytes are there.
    pub file: Option<String>,
    /// What and when.
    pub says: String,
    /// Its SHA-256.
    pub sha256: String,
    /// The bytes as they are printed; JPEG, PNG or WebP.
    #[serde(skip)]
    pub bytes: Vec<u8>,
}

impl NightSheet {
    /// Sets the report. `ident` names the document; `issued_ms` is when it was issued, ms UTC.
    pub fn to_pdf(&self, ident: &str, issued_ms: i64) -> Result<Vec<u8>, PdfFault> {
        self.set(ident, issued_ms, true)
    }

    /// The same without tags, to measure what they cost. It keeps neither PDF/A-2a nor PDF/UA and is never
    /// handed out.
    pub fn to_pdf_untagged(&self, ident: &str, issued_ms: i64) -> Result<Vec<u8>, PdfFault> {
        self.set(ident, issued_ms, false)
    }

    fn set(&self, ident: &str, issued_ms: i64, tagged: bool) -> Result<Vec<u8>, PdfFault> {
        let mut pictures = BTreeMap::new();
        pictures.insert("dial.svg".to_owned(), self.dial_svg.clone().into_bytes());
        pictures.insert("head.svg".to_owned(), self.head_svg.clone().into_bytes());
        for photo in self.photos.rows.iter().chain(&self.paper_pages.rows) {
            if let Some(file) = &photo.file {
                pictures.insert(file.clone(), photo.bytes.clone());
            }
        }
        set(Document {
            template: include_str!("../templates/night.typ"),
            data: self,
            pictures,
            ident: ident.to_owned(),
            issued_ms,
            tagged,
        })
    }
}
