//! The guard's instructions, a new version each time.

use super::{Blank, Form, Given, Group, Written};
use crate::people::languages;
use maud::{Markup, html};
use record::InstructionsSet;
use record::documents::{Document, Instructions, VERSION};
use words::{Lang, desk, desk_write};

pub(super) const INSTRUCTIONS: Form = Form {
    path: "/watch/{watch}/instructions",
    group: Group::Guard,
    title: desk_write::instructions,
    lead: desk_write::instructions_lead,
    offered: |_| true,
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let now = blank.seen.live.documents.instructions.as_ref();
    let language = match blank.typed.get("language") {
        "" => now.map_or(lang.tag(), |now| now.language.as_str()),
        typed => typed,
    };
    let lines = match blank.typed.get("lines") {
        "" => now.map(|now| now.lines.join("\n")).unwrap_or_default(),
        typed => typed.to_owned(),
    };
    html! {
        (blank.field("language", desk::person_language(lang), desk_write::instructions_language_why(lang))
            .choice(languages(), language))
        (blank.field("lines", desk::instructions(lang), desk::instructions_why(lang)).area(&lines, 10))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let lines = given.lines("lines");
    if lines.is_empty() {
        given.wrong("lines", desk::needed(given.lang()));
        return None;
    }
    let language = Lang::from_tag(&given.text("language").unwrap_or_default()).tag().to_owned();
    let document = Instructions { v: VERSION, language: language.clone(), lines };
    let before = given.seen.state.instructions.as_ref().map_or(0, |set| set.set.version);
    let entry = InstructionsSet { instructions: document.digest(), version: before + 1, language };
    Some(Written { statements: vec![entry.into()], documents: vec![document.to_bytes()] })
}
