//! What became of the lines of a phone's file, as the desk reads it.

use crate::one_watch;
use crate::page::Reader;
use crate::server::App;
use crate::sync::Refused;
use ledger::{Line, WatchId};
use maud::{Markup, html};
use phone::sync::SentLine;
use record::Entry;
use std::collections::{BTreeMap, BTreeSet};
use store::{Outcome, Refusal};
use words::{Lang, phone_file as says};

/// Taken now, and there already.
#[derive(Debug, Default, Clone, Copy)]
struct Count {
    now: i64,
    before: i64,
}

/// A row whose line is not in the log.
#[derive(Debug)]
struct Left {
    row: usize,
    line: Option<Line>,
    why: Why,
}

#[derive(Debug)]
enum Why {
    Refused(Refused),
    Unreadable,
    WordsMissing,
    Held,
    TooManyHeld,
    Forked,
}

/// What became of every row.
#[derive(Debug, Default)]
pub(super) struct Told {
    /// Rows that hold no line of a phone.
    unread: Vec<usize>,
    /// Pictures that were kept.
    pictures: i64,
    /// Files that are neither lines nor a picture that a line names.
    unnamed: Vec<String>,
    taken: BTreeMap<WatchId, Count>,
    left: Vec<Left>,
}

impl Told {
    /// A row that holds no line of a phone.
    pub(super) fn unread(&mut self, row: usize) {
        self.unread.push(row);
    }

    /// A picture was kept.
    pub(super) fn picture(&mut self) {
        self.pictures += 1;
    }

    /// A file that is neither lines nor a picture that a line names.
    pub(super) fn no_line_names(&mut self, file: String) {
        self.unnamed.push(file);
    }

    /// The watches of which lines were left out: what they said is told by the names of the watch.
    pub(super) fn left_watches(&self) -> BTreeSet<WatchId> {
        self.left.iter().filter_map(|left| Some(left.line.as_ref()?.watch.clone())).collect()
    }

    /// Whether nothing of a phone was in the files.
    pub(super) fn is_empty(&self) -> bool {
        self.taken.is_empty() && self.left.is_empty() && self.pictures == 0
    }

    /// Adds what was judged of a row.
    pub(super) fn add(&mut self, row: usize, sent: &SentLine, outcome: Result<Outcome, Refused>) {
        let line = serde_json::from_str::<Line>(&sent.line).ok();
        let why = match outcome {
            Ok(Outcome::Received(_)) => return self.count(line, |count| count.now += 1),
            Ok(Outcome::Again(_)) => return self.count(line, |count| count.before += 1),
            Ok(Outcome::Held { .. }) => Why::Held,
            Ok(Outcome::Forked { .. }) => Why::Forked,
            Ok(Outcome::Refused(Refusal::HeldFull)) => Why::TooManyHeld,
            Ok(Outcome::Refused(_)) => Why::WordsMissing,
            // What does not read as a line names no writer either.
            Err(_) if line.is_none() => Why::Unreadable,
            Err(refused) => Why::Refused(refused),
        };
        self.left.push(Left { row, line, why });
    }

    fn count(&mut self, line: Option<Line>, add: impl FnOnce(&mut Count)) {
        let line = line.expect("the store takes only lines");
        add(self.taken.entry(line.watch).or_default());
    }

    /// The answer above the form.
    pub(super) fn page(&self, app: &App, reader: &Reader) -> Markup {
        let lang = reader.lang;
        html! {
            section role="status" {
                @for (watch, count) in &self.taken {
                    p.said {
                        strong { (says::taken(lang, count.now)) }
                        @if count.before > 0 { " " (says::before(lang, count.before)) }
                        @if !watch.is_org() {
                            " " a href={ "/watch/" (watch) "#record" } { (words::desk::to_watch(lang)) }
                        }
                    }
                }
                @if self.pictures > 0 { p.said { strong { (says::pictures(lang, self.pictures)) } } }
                @for file in &self.unnamed { p.fault { (says::unnamed(lang, file)) } }
                @if !self.unread.is_empty() {
                    p.fault { (says::unread(lang, self.unread.len() as i64, numbers(&self.unread))) }
                }
                @if !self.left.is_empty() { (self.left_out(app, reader)) }
            }
        }
    }

    fn left_out(&self, app: &App, reader: &Reader) -> Markup {
        let lang = reader.lang;
        let mut saying = BTreeMap::new();
        for line in self.left.iter().filter_map(|left| left.line.as_ref()) {
            saying.entry(line.watch.clone()).or_insert_with(|| {
                let seen = one_watch::seen_here(app, &line.watch, reader.now_ms)?;
                Some(one_watch::says(&app.book(), reader, &seen))
            });
        }
        let what = |line: &Line| {
            let entry = Entry::of(line).ok()?;
            let saying = saying.get(&line.watch)?.as_ref()?;
            Some(saying.reader().entry(&entry).to_string())
        };
        html! {
            h2 { (says::left(lang, self.left.len() as i64)) }
            div.scroll tabindex="0" role="region" aria-label=(says::left(lang, self.left.len() as i64)) {
                table {
                    thead { tr {
                        th scope="col" { (says::row(lang)) }
                        th scope="col" { (words::desk::record_entry(lang)) }
                        th scope="col" { (words::desk::record_what(lang)) }
                        th scope="col" { (says::why(lang)) }
                    } }
                    tbody {
                        @for left in &self.left {
                            tr {
                                td { (left.row) }
                                td { @if let Some(line) = &left.line { time { (reader.when(line.clk.recorded_ms())) } } }
                                td { (left.line.as_ref().and_then(what).unwrap_or_default()) }
                                td { (left.why.say(lang)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

impl Why {
    fn say(&self, lang: Lang) -> &'static str {
        match self {
            Why::Refused(Refused::Bringer | Refused::Writer | Refused::NoPart(_)) => {
                says::writer(lang)
            }
            Why::Refused(Refused::Fault(_)) | Why::Unreadable => says::changed(lang),
            Why::Refused(Refused::HouseOnly(_)) => says::house_only(lang),
            Why::Refused(Refused::NoWatch(_)) => says::no_watch(lang),
            Why::WordsMissing => says::words_missing(lang),
            Why::Held => says::held(lang),
            Why::TooManyHeld => says::held_full(lang),
            Why::Forked => says::forked(lang),
        }
    }
}

/// At most ten row numbers.
fn numbers(rows: &[usize]) -> String {
    let shown: Vec<String> = rows.iter().take(10).map(usize::to_string).collect();
    let more = if rows.len() > 10 { ", …" } else { "" };
    shown.join(", ") + more
}
