//! A form as it came in: read field by field, with a fault for each that cannot be used.

use super::super::Seen;
use crate::page::typed::{Faults, Typed};
use crate::page::{Reader, codes, time};
use crate::server::App;
use ledger::{LineId, PersonId};
use record::{Words, ZoneId};
use serde::de::DeserializeOwned;
use std::ops::RangeInclusive;
use words::{Lang, desk, desk_write};

/// Clocks of desk and server may differ by so much, ms.
const AHEAD_MS: i64 = 120_000;
/// Longest text that fits a line beside its other members, bytes.
const WORDS_MAX: usize = 4_000;

/// What was given.
pub(super) struct Given<'a> {
    pub(super) app: &'a App,
    pub(super) reader: &'a Reader,
    pub(super) seen: &'a Seen,
    typed: &'a Typed,
    pub(super) faults: Faults,
}

impl<'a> Given<'a> {
    pub(super) fn new(app: &'a App, reader: &'a Reader, seen: &'a Seen, typed: &'a Typed) -> Self {
        Given { app, reader, seen, typed, faults: Faults::new() }
    }

    pub(super) fn lang(&self) -> Lang {
        self.reader.lang
    }

    /// Notes what is wrong with a field.
    pub(super) fn wrong(&mut self, name: &'static str, says: &'static str) {
        self.faults.entry(name).or_insert(says);
    }

    fn found<T>(&mut self, name: &'static str, found: Option<T>, says: &'static str) -> Option<T> {
        if found.is_none() {
            self.wrong(name, says);
        }
        found
    }

    /// One line of text; none if empty.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        Some(self.typed.text(name)).filter(|text| !text.is_empty())
    }

    /// Words that stay erasable.
    pub(super) fn words(&mut self) -> Words {
        if self.typed.get("words").len() > WORDS_MAX {
            self.wrong("words", desk_write::words_long(self.lang()));
        }
        Words::from_text(self.typed.get("words"))
    }

    /// As [`Given::words`], and there must be some.
    pub(super) fn words_needed(&mut self) -> Words {
        let words = self.words();
        if words.is_empty() {
            self.wrong("words", desk::needed(self.lang()));
        }
        words
    }

    pub(super) fn lines(&self, name: &str) -> Vec<String> {
        Words::from_text(self.typed.get(name)).words
    }

    /// A code that must be chosen.
    pub(super) fn code<T: DeserializeOwned>(&mut self, name: &'static str) -> Option<T> {
        let says = desk_write::choose(self.lang());
        self.found(name, codes::read(self.typed.get(name)), says)
    }

    /// The codes that were chosen.
    pub(super) fn codes<T: DeserializeOwned>(&self, name: &str) -> Vec<T> {
        self.typed.all(name).iter().filter_map(|code| codes::read(code)).collect()
    }

    pub(super) fn chose(&self, name: &str, value: &str) -> bool {
        self.typed.chose(name, value)
    }

    pub(super) fn all(&self, name: &str) -> &[String] {
        self.typed.all(name)
    }

    pub(super) fn yes(&self, name: &str) -> bool {
        matches!(self.typed.get(name), "true" | "yes")
    }

    /// A whole number, if one was given.
    pub(super) fn number(&mut self, name: &'static str, range: RangeInclusive<u32>) -> Option<u32> {
        if self.typed.get(name).is_empty() {
            return None;
        }
        let number = self.typed.get(name).parse().ok().filter(|n| range.contains(n));
        let says = desk_write::number_wrong(self.lang());
        self.found(name, number, says)
    }

    /// An instant, if one was given.
    pub(super) fn when(&mut self, name: &'static str) -> Option<i64> {
        if self.typed.get(name).is_empty() {
            return None;
        }
        let at_ms = time::from_field(self.typed.get(name), &self.seen.tz());
        let says = desk::time_wrong(self.lang());
        self.found(name, at_ms, says)
    }

    /// An instant that must be given.
    pub(super) fn when_needed(&mut self, name: &'static str) -> Option<i64> {
        let at_ms = self.when(name);
        let says = desk::time_wrong(self.lang());
        self.found(name, at_ms, says)
    }

    /// When something happened, if it was not just now: never in the future.
    pub(super) fn past(&mut self, name: &'static str) -> Option<i64> {
        let at_ms = self.when(name)?;
        if at_ms > self.reader.now_ms + AHEAD_MS {
            self.wrong(name, desk_write::in_future(self.lang()));
        }
        Some(at_ms)
    }

    /// When something happened; now if nothing was given.
    pub(super) fn past_or_now(&mut self, name: &'static str) -> i64 {
        self.past(name).unwrap_or(self.reader.now_ms)
    }

    /// A line among those that make sense, if one was chosen.
    pub(super) fn line(
        &mut self,
        name: &'static str,
        among: impl IntoIterator<Item = LineId>,
    ) -> Option<LineId> {
        if self.typed.get(name).is_empty() {
            return None;
        }
        let line: Option<LineId> = self.typed.get(name).parse().ok();
        let line = line.filter(|line| among.into_iter().any(|known| known == *line));
        let says = desk_write::choose(self.lang());
        self.found(name, line, says)
    }

    /// As [`Given::line`], and one must be chosen.
    pub(super) fn line_needed(
        &mut self,
        name: &'static str,
        among: impl IntoIterator<Item = LineId>,
    ) -> Option<LineId> {
        let line = self.line(name, among);
        let says = desk_write::choose(self.lang());
        self.found(name, line, says)
    }

    /// A zone of this watch, if one was chosen.
    pub(super) fn zone(&mut self, name: &'static str) -> Option<ZoneId> {
        let typed = self.typed.get(name);
        if typed.is_empty() {
            return None;
        }
        let zones = &self.seen.state.zones;
        let zone = zones.iter().map(|zone| &zone.id).find(|id| id.as_str() == typed).cloned();
        let says = desk_write::choose(self.lang());
        self.found(name, zone, says)
    }

    /// Somebody the house knows, if anybody was chosen.
    pub(super) fn person(&mut self, name: &'static str) -> Option<PersonId> {
        let typed = self.typed.get(name);
        if typed.is_empty() {
            return None;
        }
        let known = PersonId::new(typed).ok().filter(|id| self.app.book().people.contains_key(id));
        let says = desk_write::choose(self.lang());
        self.found(name, known, says)
    }

    /// As [`Given::person`], and somebody must be chosen.
    pub(super) fn person_needed(&mut self, name: &'static str) -> Option<PersonId> {
        let person = self.person(name);
        let says = desk_write::choose(self.lang());
        self.found(name, person, says)
    }
}
