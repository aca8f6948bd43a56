//! What does not fit, in words: another site's sheet, a page missing from the set, a sheet that is
//! claimed to be ours and is not.

use super::Reading;
use crate::{SheetCode, ZoneRef};
use ledger::WatchId;
use record::ZoneId;
use words::{Lang, sheet};

/// What whoever brings a picture in says of it, and what the record knows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Expected {
    /// It is said to be a log sheet.
    pub is_sheet: bool,
    /// The watch that it is brought in to.
    pub watch: Option<WatchId>,
    /// That watch's zones, if known.
    pub zones: Option<Vec<ZoneId>>,
    /// From when to when that watch lasts, ms UTC, if known.
    pub span_ms: Option<(i64, i64)>,
}

/// What does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// A sheet was claimed, and four marks are not there.
    NoMarks,
    /// The marks are there and no code could be read.
    CodeUnread,
    /// The code says something else.
    NotOurs,
    /// Another version of the layout.
    Version(String),
    /// The code was changed or damaged.
    Checksum,
    /// A field of the code cannot be.
    Field(&'static str),
    /// Another watch's sheet.
    OtherWatch {
        /// Whose it is.
        is: WatchId,
        /// Where it was brought in.
        wanted: WatchId,
    },
    /// A zone that the watch does not have.
    StrangeZone(String),
    /// Windows outside the watch.
    StrangeWindow,
    /// A page of another set.
    OtherSet {
        /// The page.
        page: u16,
        /// Its set.
        set: u32,
    },
    /// A page that is there twice.
    Twice(u16),
    /// Pages that are not there.
    Missing(Vec<u16>),
}

impl Fault {
    /// A word for programs.
    pub fn name(&self) -> &'static str {
        match self {
            Fault::NoMarks => "no_marks",
            Fault::CodeUnread => "code_unread",
            Fault::NotOurs => "not_ours",
            Fault::Version(_) => "version",
            Fault::Checksum => "checksum",
            Fault::Field(_) => "field",
            Fault::OtherWatch { .. } => "other_watch",
            Fault::StrangeZone(_) => "strange_zone",
            Fault::StrangeWindow => "strange_window",
            Fault::OtherSet { .. } => "other_set",
            Fault::Twice(_) => "twice",
            Fault::Missing(_) => "missing",
        }
    }

    /// What it is and what to do next.
    pub fn say(&self, lang: Lang) -> String {
        match self {
            Fault::NoMarks => sheet::fault_no_marks(lang).to_owned(),
            Fault::CodeUnread => sheet::fault_code_unread(lang).to_owned(),
            Fault::NotOurs => sheet::fault_not_ours(lang).to_owned(),
            Fault::Version(version) => sheet::fault_version(lang, version),
            Fault::Checksum => sheet::fault_checksum(lang).to_owned(),
            Fault::Field(field) => sheet::fault_field(lang, field),
            Fault::OtherWatch { is, wanted } => sheet::fault_other_watch(lang, is, wanted),
            Fault::StrangeZone(zone) => sheet::fault_strange_zone(lang, zone),
            Fault::StrangeWindow => sheet::fault_strange_window(lang).to_owned(),
            Fault::OtherSet { page, set } => {
                sheet::fault_other_set(lang, page, format!("{set:08x}"))
            }
            Fault::Twice(page) => sheet::fault_twice(lang, page),
            Fault::Missing(pages) => {
                let list: Vec<String> = pages.iter().map(u16::to_string).collect();
                sheet::fault_missing(lang, pages.len() as i64, list.join(", "))
            }
        }
    }
}

impl Expected {
    /// A sheet of one watch.
    pub fn of_watch(watch: WatchId, zones: Vec<ZoneId>, span_ms: Option<(i64, i64)>) -> Expected {
        Expected { is_sheet: false, watch: Some(watch), zones: Some(zones), span_ms }
    }

    pub(super) fn faults(&self, code: &SheetCode) -> Vec<Fault> {
        let mut faults = Vec::new();
        if let Some(wanted) = self.watch.as_ref().filter(|wanted| **wanted != code.watch) {
            let (is, wanted) = (code.watch.clone(), wanted.clone());
            return vec![Fault::OtherWatch { is, wanted }];
        }
        let Some(grid) = &code.grid else { return faults };
        if let Some(known) = &self.zones {
            let strange = |zone: &&ZoneRef| {
                **zone != ZoneRef::Blank && !known.iter().any(|id| zone.names(id))
            };
            faults.extend(grid.zones.iter().filter(strange).map(|zone| match zone {
                ZoneRef::Id(id) => Fault::StrangeZone(id.to_string()),
                ZoneRef::Digest(digest) => Fault::StrangeZone(digest.clone()),
                ZoneRef::Blank => Fault::StrangeZone(String::new()),
            }));
        }
        if let (Some((from_ms, until_ms)), Some((first, _)), Some((_, last))) = (
            self.span_ms,
            grid.window_ms(0),
            grid.window_ms(usize::from(grid.rows).saturating_sub(1)),
        ) && (last <= from_ms || first >= until_ms)
        {
            faults.push(Fault::StrangeWindow);
        }
        faults
    }
}

/// What does not fit among the pages of one set: pages of other sets, twice, or not there. Pictures
/// that are no sheets are left aside.
pub fn missing_pages(readings: &[Reading]) -> Vec<Fault> {
    let codes: Vec<&SheetCode> = readings.iter().filter_map(|r| r.code.as_ref()).collect();
    let Some(first) = codes.first() else { return Vec::new() };
    let mut faults = Vec::new();
    let mut there = vec![false; usize::from(first.of)];
    for code in &codes {
        if (code.set, &code.watch) != (first.set, &first.watch) {
            faults.push(Fault::OtherSet { page: code.page, set: code.set });
            continue;
        }
        match there.get_mut(usize::from(code.page) - 1) {
            Some(page) if *page => faults.push(Fault::Twice(code.page)),
            Some(page) => *page = true,
            None => {}
        }
    }
    let missing: Vec<u16> = (1..=first.of).filter(|page| !there[usize::from(*page) - 1]).collect();
    if !missing.is_empty() {
        faults.push(Fault::Missing(missing));
    }
    faults
}
