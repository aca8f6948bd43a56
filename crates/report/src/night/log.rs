//! Every line, with the time of the event and the time of the entry.

use crate::page::Page;
use crate::sheets::{Cell, LogRow, Section};
use record::Entry;
use watch::{Kept, Via};
use words::{duration_words, entries, report};

/// Written more than this after the event is marked (our own figure): beyond it the two times on the
/// page differ visibly.
const WRITTEN_LATE_MS: i64 = 60_000;

impl Page<'_> {
    pub(crate) fn log(&self) -> Section<LogRow> {
        let lang = self.lang();
        let mut lines: Vec<(i64, &Kept)> = self
            .request
            .watch
            .lines()
            .filter(|line| !matches!(line.said, Entry::SealedChains(_) | Entry::Tick(_)))
            .map(|line| (self.at(line), line))
            .filter(|(at_ms, _)| self.within(*at_ms) || self.request.stretch.is_none())
            .collect();
        lines.sort_by_key(|(at_ms, line)| (*at_ms, line.dev, line.seq));
        Section {
            title: report::log(lang).to_owned(),
            rows: self.by_day(lines),
            none: report::log_none(lang).to_owned(),
        }
    }

    /// The first line of each day names it, where there is more than one.
    fn by_day(&self, lines: Vec<(i64, &Kept)>) -> Vec<LogRow> {
        let lang = self.lang();
        let days: Vec<String> = lines.iter().map(|(at_ms, _)| self.local.day(*at_ms)).collect();
        let one = days.windows(2).all(|pair| pair[0] == pair[1]);
        let row = |(i, (at_ms, line)): (usize, (i64, &Kept))| {
            let begins = !one && (i == 0 || days[i] != days[i - 1]);
            let day = begins.then(|| self.local.date(lang, at_ms));
            LogRow { day, ..self.log_row(at_ms, line) }
        };
        lines.into_iter().enumerate().map(row).collect()
    }

    pub(crate) fn at(&self, line: &Kept) -> i64 {
        let effective = self.request.watch.effective(line.id);
        effective.map_or_else(|| line.clk.recorded_ms(), |effective| effective.at_ms)
    }

    pub(crate) fn log_row(&self, at_ms: i64, line: &Kept) -> LogRow {
        let own = line.words.as_ref().map(|words| words.words.clone()).unwrap_or_default();
        LogRow {
            day: None,
            happened: self.clock(at_ms),
            written: self.clock(line.clk.recorded_ms()),
            who: self.names.person(&line.who).to_owned(),
            what: Cell {
                says: self.reader().entry(&line.said),
                words: own,
                marks: self.marks(at_ms, line),
            },
        }
    }

    /// From which page, and who typed it; the writer stands beside.
    fn mark_paper(&self, line: &Kept) -> String {
        let lang = self.lang();
        let typist = self.names.person(&line.by);
        match line.page {
            Some(page) => entries::mark_paper_page(lang, short(page), typist),
            None => entries::mark_paper_typed(lang, typist),
        }
    }

    pub(crate) fn marks(&self, at_ms: i64, line: &Kept) -> Vec<String> {
        let lang = self.lang();
        let mut marks = Vec::new();
        let written_after_ms = line.clk.recorded_ms() - at_ms;
        if written_after_ms > WRITTEN_LATE_MS {
            marks.push(entries::mark_written_late(lang, duration_words(written_after_ms / 1000)));
        }
        match line.via {
            Via::PhonedIn => marks.push(entries::mark_phoned_in(lang).to_owned()),
            Via::Paper => marks.push(self.mark_paper(line)),
            Via::Device => {}
        }
        if let Some(effective) = self.request.watch.effective(line.id) {
            if effective.withdrawn_by.is_some() {
                marks.push(entries::mark_taken_back(lang).to_owned());
            } else if effective.corrected_by.is_some() {
                marks.push(entries::mark_corrected(lang).to_owned());
            }
        }
        if line.has_private && line.words.is_none() {
            marks.push(entries::mark_words_erased(lang).to_owned());
        }
        match self.request.watch.sealing(line.id) {
            None => marks.push(entries::mark_not_received(lang).to_owned()),
            Some(seal) => {
                let late_ms = seal.rx_ms - line.clk.recorded_ms();
                if late_ms > picture::watch_dial::SEALED_SOON_MS {
                    marks.push(entries::mark_sealed_late(lang, duration_words(late_ms / 1000)));
                }
            }
        }
        marks
    }
}

/// Enough of a digest to find it among those of one night; the whole stands beside its picture.
pub(crate) fn short(digest: ledger::Digest) -> String {
    digest.to_string().chars().take(12).collect()
}
