//! The desk's own entries on a watch, each form folded until it is wanted.

use super::Seen;
use crate::page::form::Field;
use crate::page::{Reader, codes, time};
use crate::server::App;
use maud::{Markup, html};
use record::{Means, Party, ReleasedBy, Role};
use rules::say::Say;
use words::desk;

/// Every form that the reader may send.
pub(super) fn all(app: &App, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let open = seen.live.standing.released_ms.is_none();
    html! {
        section #forms {
            @if open && reader.may("/watch/{watch}/answer") { (answer(reader, seen)) }
            @if open && reader.may("/watch/{watch}/told") { (told(reader, seen)) }
            @if open && reader.may("/watch/{watch}/guard") { (guard(app, reader, seen)) }
            @if open && reader.may("/watch/{watch}/release") { (release(reader, seen)) }
            p.submit {
                a.button href={ "/watch/" (seen.id) "/bundle" } { (desk::take_bundle(lang)) }
                @if app.options.printer.is_some() {
                    a.button href={ "/watch/" (seen.id) "/report" } { (desk::take_report(lang)) }
                }
            }
            p.soft { (desk::take_note(lang)) }
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

fn told(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    html! {
        details {
            summary { (desk::told(lang)) }
            form method="post" action={ "/watch/" (seen.id) "/told" } {
                (Field::new("party", desk::told_whom(lang), desk::told_whom_why(lang))
                    .choice(Party::ALL.map(|p| (codes::value(p), p.say(lang))), ""))
                (Field::new("means", desk::told_how(lang), desk::told_how_why(lang))
                    .choice(Means::ALL.map(|m| (codes::value(m), m.say(lang))), ""))
                (Field::new("reached", desk::told_reached(lang), desk::told_reached_why(lang))
                    .choice([("true".to_owned(), desk::yes(lang)), ("false".to_owned(), desk::no(lang))], "true"))
                (Field::new("words", desk::told_words(lang), desk::told_words_why(lang)).area("", 3))
                div.submit { button { (desk::told_write(lang)) } }
            }
        }
    }
}

fn guard(app: &App, reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let guards: Vec<(String, String)> = book
        .people
        .iter()
        .filter(|(_, p)| !p.left && matches!(p.role, Role::Guard | Role::ShiftLead))
        .map(|(id, person)| (id.to_string(), person.name.clone()))
        .collect();
    let tz = seen.tz();
    let from_ms = seen.live.standing.until_ms.unwrap_or(reader.now_ms);
    html! {
        details {
            summary { (desk::plan_guard(lang)) }
            form method="post" action={ "/watch/" (seen.id) "/guard" } {
                (Field::new("person", desk::guard(lang), desk::plan_guard_why(lang))
                    .choice(guards.iter().map(|(id, name)| (id.clone(), name.as_str())), ""))
                (Field::new("from", desk::from(lang), desk::plan_from_why(lang))
                    .text("datetime-local", &time::to_field(from_ms, &tz), true))
                (Field::new("until", desk::until(lang), desk::plan_until_why(lang))
                    .text("datetime-local", &time::to_field(from_ms + 12 * 3_600_000, &tz), true))
                div.submit { button { (desk::plan_do(lang)) } }
            }
        }
    }
}

fn release(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    html! {
        details {
            summary { (desk::release(lang)) }
            form method="post" action={ "/watch/" (seen.id) "/release" } {
                p.soft { (desk::release_note(lang)) }
                (Field::new("by", desk::release_by(lang), desk::release_by_why(lang))
                    .choice(ReleasedBy::ALL.map(|by| (codes::value(by), by.say(lang))), ""))
                (Field::new("written", desk::release_written(lang), desk::release_written_why(lang))
                    .choice([("true".to_owned(), desk::yes(lang)), ("false".to_owned(), desk::no(lang))], "false"))
                (Field::new("words", desk::told_words(lang), desk::release_words_why(lang)).area("", 2))
                div.submit { button { (desk::release_do(lang)) } }
            }
        }
    }
}
