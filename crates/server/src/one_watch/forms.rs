//! The answer to a question at once, the other entries of the desk by name, and what can be taken away.

use super::{Seen, write};
use crate::page::Reader;
use crate::page::form::Field;
use crate::server::App;
use maud::{Markup, html};
use words::desk;

/// Every form that the reader may send.
pub(super) fn all(app: &App, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let open = seen.live.standing.released_ms.is_none();
    html! {
        section #forms {
            @if open && reader.may("/watch/{watch}/answer") { (answer(reader, seen)) }
            (write::list(reader, seen))
            p.submit {
                a.button href={ "/watch/" (seen.id) "/bundle" } { (desk::take_bundle(lang)) }
                @if app.options.printer.is_some() {
                    a.button href={ "/watch/" (seen.id) "/report" } { (desk::take_report(lang)) }
                }
            }
            p.soft { (desk::take_note(lang)) }
            @if reader.may_open("/watch/{watch}/rounds") {
                p { a href={ "/watch/" (seen.id) "/rounds" } { (words::rounds::link(lang)) } }
            }
            @if reader.may("/watch/{watch}/links") {
                p { a href={ "/watch/" (seen.id) "/links" } { (words::links::link(lang)) } }
            }
            @if reader.may_open("/watch/{watch}/alerts") {
                p { a href={ "/watch/" (seen.id) "/alerts" } { (words::alerts::link(lang)) } }
            }
            @if reader.may("/watch/{watch}/pages") {
                p { a href={ "/watch/" (seen.id) "/pages" } { (words::paper_in::link(lang)) } }
            }
            @if reader.may("/watch/{watch}/phone-file") {
                p { a href={ "/watch/" (seen.id) "/phone-file" } { (words::phone_file::link(lang)) } }
            }
            @if reader.may("/watch/{watch}/erase") {
                p { a href={ "/watch/" (seen.id) "/erase" } { (words::second::erase(lang)) } }
            }
            @if !open { p.soft { (desk::nothing_to_add(lang)) } }
        }
    }
}

fn answer(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let asked: Vec<(String, String)> = seen
        .state
        .questions
        .iter()
        .filter(|question| question.answers.is_empty())
        .map(|q| (q.written.line.to_string(), seen.words(q.written.line)))
        .collect();
    html! {
        @if !asked.is_empty() {
            details open {
                summary { (desk::answer(lang)) }
                form method="post" action={ "/watch/" (seen.id) "/answer" } {
                    (Field::new("of", desk::question(lang), desk::question_why(lang))
                        .choice(asked.iter().map(|(id, words)| (id.clone(), words.as_str())), ""))
                    (Field::new("words", desk::answer(lang), desk::answer_why(lang)).area("", 3))
                    div.submit { button.main { (desk::answer_send(lang)) } }
                }
            }
        }
    }
}
