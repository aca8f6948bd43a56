//! What an amendment changes: lines that were added or corrected, with both times, gaps and findings
//! that read differently. Worked out from what the report before knew, never typed.

use super::verdict::longest;
use crate::page::Page;
use crate::request::Request;
use crate::sheets::{Cell, ChangedRow, Lines, Section};
use ledger::LineId;
use std::collections::BTreeSet;
use watch::{Change, Changed, Watch};
use words::{amendment, report};

/// Zones that page one names; the others are counted.
const ZONES_ON_PAGE_ONE: usize = 4;

/// An amendment beside the report that it replaces.
pub(crate) struct Changes<'a> {
    before: Before<'a>,
    lines: Vec<Change>,
}

/// The report before, read again from what it knew.
struct Before<'a> {
    watch: &'a Watch,
    verdict: String,
    rounds: String,
    /// Zone and its longest gap in words, as the table says it.
    gaps: Vec<(record::ZoneId, String)>,
    findings: Vec<String>,
    issued_ms: i64,
}

impl<'a> Changes<'a> {
    /// None for a first report.
    pub(crate) fn of(page: &Page<'a>) -> Option<Changes<'a>> {
        let amended = page.request.amends?;
        let request = Request { watch: amended.watch, amends: None, ..copy_of(page.request) };
        let earlier = Page::of(&request);
        let (from_ms, until_ms) = match page.request.stretch {
            Some(stretch) => (stretch.from_ms, stretch.until_ms),
            None => (i64::MIN, page.until_ms),
        };
        let before = Before {
            watch: amended.watch,
            verdict: earlier.verdict(),
            rounds: earlier.rounds(),
            gaps: earlier.dial.zones.iter().map(|z| (z.id.clone(), longest(z))).collect(),
            findings: earlier.findings_shown().into_iter().map(|row| row.what).collect(),
            issued_ms: amended.issued_ms,
        };
        let lines = page.request.watch.changes_since(amended.watch, from_ms, until_ms);
        Some(Changes { before, lines })
    }

    /// A few sentences for page one.
    pub(crate) fn summary(&self, page: &Page<'_>) -> Lines {
        let lang = page.lang();
        let mut rows = Vec::new();
        let added: Vec<LineId> = self.lines_that(|how| how == Changed::Added);
        if let Some(said) = self.added(page, &added) {
            rows.push(said);
        }
        let corrected = self.lines_that(|how| how == Changed::Corrected).len();
        if corrected > 0 {
            rows.push(amendment::lines_corrected(lang, corrected as i64));
        }
        let taken_back = self.lines_that(|how| how == Changed::TakenBack).len();
        if taken_back > 0 {
            rows.push(amendment::lines_taken_back(lang, taken_back as i64));
        }
        rows.extend(self.gaps(page));
        let (new, gone) = self.findings_changed(page);
        if !new.is_empty() || !gone.is_empty() {
            rows.push(amendment::findings_count(lang, gone.len(), new.len()));
        }
        if page.verdict() != self.before.verdict {
            rows.push(amendment::verdict_before(lang, &self.before.verdict));
        }
        if page.rounds() != self.before.rounds {
            rows.push(amendment::rounds_before(lang, &self.before.rounds));
        }
        if rows.is_empty() {
            rows.push(amendment::nothing(lang).to_owned());
        }
        Section { title: page.amendment_title().unwrap_or_default(), rows, none: String::new() }
    }

    fn lines_that(&self, is: impl Fn(Changed) -> bool) -> Vec<LineId> {
        self.lines.iter().filter(|change| is(change.how)).map(|change| change.line).collect()
    }

    /// How many lines came in, when they happened and when they were received.
    fn added(&self, page: &Page<'_>, added: &[LineId]) -> Option<String> {
        let watch = page.request.watch;
        let kept = |id: &LineId| watch.line(*id);
        let happened = added.iter().filter_map(kept).map(|line| page.at(line));
        let happened = (happened.clone().min()?, happened.max()?);
        let received = added.iter().filter_map(|id| Some(watch.sealing(*id)?.rx_ms));
        let count = added.len() as i64;
        Some(match (received.clone().min(), received.max()) {
            (Some(first), Some(last)) => amendment::lines_added(
                page.lang(),
                page.span_words(happened.0, happened.1),
                count,
                page.span_words(first, last),
            ),
            _ => amendment::lines_added_unreceived(
                page.lang(),
                page.span_words(happened.0, happened.1),
                count,
            ),
        })
    }

    /// Zones whose longest gap reads differently, worst first.
    fn gaps(&self, page: &Page<'_>) -> Vec<String> {
        let lang = page.lang();
        let differ: Vec<String> = page
            .dial
            .zones
            .iter()
            .filter_map(|zone| {
                let now = longest(zone);
                let before = self.before.gaps.iter().find(|(id, _)| *id == zone.id);
                let zone = page.names.zone(&zone.id);
                match before {
                    Some((_, before)) if *before == now => None,
                    Some((_, before)) => Some(amendment::gap(lang, before, now, zone)),
                    None => Some(amendment::gap_new(lang, now, zone)),
                }
            })
            .collect();
        let more = differ.len().saturating_sub(ZONES_ON_PAGE_ONE);
        let mut rows: Vec<String> = differ.into_iter().take(ZONES_ON_PAGE_ONE).collect();
        if more > 0 {
            rows.push(amendment::gaps_more(lang, more as i64));
        }
        rows
    }

    /// Findings that were not there before, and those that are no longer.
    fn findings_changed(&self, page: &Page<'_>) -> (Vec<String>, Vec<String>) {
        let now: Vec<String> = page.findings_shown().into_iter().map(|row| row.what).collect();
        let known: BTreeSet<&String> = self.before.findings.iter().collect();
        let still: BTreeSet<&String> = now.iter().collect();
        let gone = self.before.findings.iter().filter(|said| !still.contains(said)).cloned();
        let gone = gone.collect();
        (now.iter().filter(|said| !known.contains(said)).cloned().collect(), gone)
    }

    /// The changed lines, each with the time of the event, of the entry and of its receipt.
    pub(crate) fn rows(&self, page: &Page<'_>) -> Section<ChangedRow> {
        let lang = page.lang();
        let rows = self.lines.iter().filter_map(|change| self.row(page, change)).collect();
        let before = page.moment(self.before.issued_ms);
        Section {
            title: amendment::changed(lang, before),
            rows,
            none: amendment::changed_none(lang).to_owned(),
        }
    }

    fn row(&self, page: &Page<'_>, change: &Change) -> Option<ChangedRow> {
        let lang = page.lang();
        let watch = page.request.watch;
        let line = watch.line(change.line)?;
        let at_ms = page.at(line);
        let row = page.log_row(at_ms, line);
        let before_ms = self.before.watch.effective(change.line).map(|before| before.at_ms);
        let moved = before_ms.filter(|before| page.clock(*before) != page.clock(at_ms));
        let how = match change.how {
            Changed::Added => amendment::how_added(lang),
            Changed::TakenBack => amendment::how_taken_back(lang),
            Changed::Corrected => amendment::how_corrected(lang),
        };
        let mut marks = vec![how.to_owned()];
        marks.extend(row.what.marks);
        // A correction counts from its own receipt.
        let told = match change.how {
            Changed::Added => Some(change.line),
            _ => watch.effective(change.line).and_then(|e| e.withdrawn_by.or(e.corrected_by)),
        };
        let received = told.and_then(|id| watch.sealing(id));
        let written = told.and_then(|id| watch.line(id)).unwrap_or(line);
        Some(ChangedRow {
            happened: match moved {
                Some(before) => amendment::time_moved(lang, page.clock(before), row.happened),
                None => row.happened,
            },
            written: page.clock(written.clk.recorded_ms()),
            received: received
                .map_or(report::not_received(lang).to_owned(), |s| page.clock(s.rx_ms)),
            who: row.who,
            what: Cell { marks, ..row.what },
        })
    }

    /// Findings that are new, and those that no longer stand, each as one sentence.
    pub(crate) fn findings(&self, page: &Page<'_>) -> Lines {
        let lang = page.lang();
        let (new, gone) = self.findings_changed(page);
        let gone = gone.into_iter().map(|said| amendment::finding_gone(lang, said));
        let new = new.into_iter().map(|said| amendment::finding_new(lang, said));
        Section {
            title: amendment::findings(lang).to_owned(),
            rows: gone.chain(new).collect(),
            none: amendment::findings_same(lang).to_owned(),
        }
    }
}

/// The same request, to be asked of another watch.
fn copy_of<'a>(request: &Request<'a>) -> Request<'a> {
    Request { head: request.head.clone(), ..*request }
}

impl Page<'_> {
    /// An instant with its date.
    fn moment(&self, at_ms: i64) -> String {
        words::papers::on(self.lang(), self.local.date(self.lang(), at_ms), self.clock(at_ms))
    }

    /// `22:03 to 23:54`, with dates where they are not those of the stretch's own first day.
    fn span_words(&self, from_ms: i64, to_ms: i64) -> String {
        let (from, to) = (self.moment(from_ms), self.moment(to_ms));
        match from == to {
            true => from,
            false if self.local.day(from_ms) == self.local.day(to_ms) => amendment::span_one_day(
                self.lang(),
                self.local.date(self.lang(), from_ms),
                self.clock(from_ms),
                self.clock(to_ms),
            ),
            false => amendment::span(self.lang(), from, to),
        }
    }
}
