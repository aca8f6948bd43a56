//! An empty or half-filled form: its fields with what was typed and what is wrong with it.

use super::super::Seen;
use super::super::parts::called;
use crate::page::form::{Field, checks};
use crate::page::typed::{Faults, Typed};
use crate::page::{Reader, codes, time};
use crate::server::App;
use ledger::LineId;
use maud::Markup;
use record::Role;
use rules::say::Say;
use serde::Serialize;
use words::{Lang, desk, desk_write};

/// What a form is drawn from.
pub(super) struct Blank<'a> {
    pub(super) app: &'a App,
    pub(super) reader: &'a Reader,
    pub(super) seen: &'a Seen,
    pub(super) typed: &'a Typed,
    pub(super) faults: &'a Faults,
}

impl Blank<'_> {
    pub(super) fn lang(&self) -> Lang {
        self.reader.lang
    }

    pub(super) fn field<'f>(
        &'f self,
        name: &'static str,
        label: &'f str,
        why: &'f str,
    ) -> Field<'f> {
        Field::new(name, label, why).fault(self.faults.get(name).copied())
    }

    pub(super) fn text(&self, name: &'static str, label: &str, why: &str) -> Markup {
        self.field(name, label, why).text("text", self.typed.get(name), false)
    }

    pub(super) fn number(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        (min, max): (i64, i64),
    ) -> Markup {
        self.field(name, label, why).number(self.typed.get(name), min, max)
    }

    /// Words that stay erasable.
    pub(super) fn words(&self, why: &str) -> Markup {
        self.field("words", desk::told_words(self.lang()), why).area(self.typed.get("words"), 3)
    }

    /// When it happened, by the clock of the place; empty for now.
    pub(super) fn happened(&self) -> Markup {
        let lang = self.lang();
        let now = time::clock(self.reader.now_ms, &self.seen.tz());
        self.when("at", desk_write::at(lang), &desk_write::at_why(lang, now))
    }

    pub(super) fn when(&self, name: &'static str, label: &str, why: &str) -> Markup {
        self.field(name, label, why).text("datetime-local", self.typed.get(name), false)
    }

    /// An instant as this field shows it.
    pub(super) fn as_field(&self, at_ms: i64) -> String {
        time::to_field(at_ms, &self.seen.tz())
    }

    /// One code of a list.
    pub(super) fn code<T: Say + Serialize + Copy>(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        all: &[T],
    ) -> Markup {
        self.one_of(name, label, why, None, all)
    }

    /// One code of a list, none of which stands there by itself: who says it must have meant it.
    pub(super) fn code_meant<T: Say + Serialize + Copy>(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        all: &[T],
    ) -> Markup {
        let none = desk_write::not_chosen(self.lang());
        self.one_of(name, label, why, Some((String::new(), none)), all)
    }

    fn one_of<T: Say + Serialize + Copy>(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        first: Option<(String, &'static str)>,
        all: &[T],
    ) -> Markup {
        let lang = self.lang();
        let codes = all.iter().map(|code| (codes::value(*code), code.say(lang)));
        self.field(name, label, why).choice(first.into_iter().chain(codes), self.typed.get(name))
    }

    /// Several codes of a list.
    pub(super) fn codes<T: Say + Serialize + Copy>(
        &self,
        name: &'static str,
        legend: &str,
        why: &str,
        all: &[T],
    ) -> Markup {
        let lang = self.lang();
        let options = all.iter().map(|code| (codes::value(*code), code.say(lang).to_owned()));
        checks(name, legend, why, options, |code| self.typed.chose(name, code))
    }

    pub(super) fn yes_no(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        otherwise: bool,
    ) -> Markup {
        let lang = self.lang();
        let options = [("true".to_owned(), desk::yes(lang)), ("false".to_owned(), desk::no(lang))];
        let chosen = match self.typed.get(name) {
            "" => {
                if otherwise {
                    "true"
                } else {
                    "false"
                }
            }
            chosen => chosen,
        };
        self.field(name, label, why).choice(options, chosen)
    }

    /// A zone of the plan; `none` is what an empty choice means.
    pub(super) fn zone(&self, name: &'static str, label: &str, why: &str, none: &str) -> Markup {
        let zones = self
            .seen
            .state
            .zones
            .iter()
            .map(|zone| (zone.id.to_string(), self.seen.live.documents.zone(&zone.id)));
        let options = std::iter::once((String::new(), none)).chain(zones);
        self.field(name, label, why).choice(options, self.typed.get(name))
    }

    /// Somebody who walks; those of this watch first.
    pub(super) fn guard(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        none: Option<&str>,
    ) -> Markup {
        let book = self.app.book();
        let here = |id: &ledger::PersonId| {
            let standing = &self.seen.live.standing;
            standing.on_duty.iter().any(|duty| duty.who == *id)
                || standing.planned.iter().any(|(who, ..)| who == id)
        };
        let mut guards: Vec<_> = book
            .people
            .iter()
            .filter(|(_, p)| !p.left && matches!(p.role, Role::Guard | Role::ShiftLead))
            .map(|(id, person)| (!here(id), person.name.as_str(), id.to_string()))
            .collect();
        guards.sort();
        let none = none.map(|none| (String::new(), none));
        let guards = guards.iter().map(|(_, name, id)| (id.clone(), *name));
        self.field(name, label, why).choice(none.into_iter().chain(guards), self.typed.get(name))
    }

    /// One of several lines, each with the words that tell it from the others.
    pub(super) fn line(
        &self,
        name: &'static str,
        label: &str,
        why: &str,
        none: Option<&str>,
        lines: Vec<(LineId, String)>,
    ) -> Markup {
        let none = none.map(|none| (String::new(), none.to_owned()));
        let lines = lines.into_iter().map(|(line, says)| (line.to_string(), says));
        let options: Vec<(String, String)> = none.into_iter().chain(lines).collect();
        let options = options.iter().map(|(value, says)| (value.clone(), says.as_str()));
        self.field(name, label, why).choice(options, self.typed.get(name))
    }

    /// `14:05, Rosa Quill`: what tells lines of one kind apart.
    pub(super) fn stamp(&self, written: &watch::Written) -> String {
        let at = time::when(written.when.at_ms, &self.seen.tz(), self.reader.now_ms, self.lang());
        format!("{at}, {}", called(&self.app.book(), &written.who, self.lang()))
    }
}
