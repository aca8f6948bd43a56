//! The answer to a guard's question.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::Answered;
use words::desk;

pub(super) const ANSWERED: Form = Form {
    path: "/watch/{watch}/answer",
    group: Group::Calls,
    title: desk::answer,
    lead: desk::asks_next,
    offered: |seen| seen.state.questions.iter().any(|question| question.answers.is_empty()),
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let asked = blank.seen.state.questions.iter().filter(|question| question.answers.is_empty());
    let asked = asked.map(|question| {
        let line = question.written.line;
        (line, format!("{}: {}", blank.stamp(&question.written), blank.seen.words(line)))
    });
    html! {
        (blank.line("of", desk::question(lang), desk::question_why(lang), None, asked.collect()))
        (blank.field("words", desk::answer(lang), desk::answer_why(lang))
            .area(blank.typed.get("words"), 3))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let of = given.line_needed("of", given.seen.state.questions.iter().map(|q| q.written.line));
    let words = given.words_needed();
    Some(Written::one(Statement::with(Answered { of: of? }, words)))
}
