//! Words about the night or about a line.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::Note;
use words::{desk, desk_write};

pub(super) const NOTE: Form = Form {
    path: "/watch/{watch}/note",
    group: Group::Record,
    title: desk_write::note,
    lead: desk_write::note_lead,
    offered: |_| true,
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (super::corrected::the_line(blank, Some(desk_write::nothing_single(lang))))
        (blank.field("words", desk::told_words(lang), desk::told_words_why(lang))
            .area(blank.typed.get("words"), 5))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let of = given.line("of", given.seen.fold.lines().map(|kept| kept.id));
    let words = given.words_needed();
    Some(Written::one(Statement::with(Note { of }, words)))
}
