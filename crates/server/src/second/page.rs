//! `GET /second`: what waits for a second person, and what else needs one.

use super::announce::says;
use super::{Act, WAIT_MS, What};
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::server::App;
use axum::extract::State;
use maud::{Markup, html};
use words::second;

/// `GET /second`
pub(crate) async fn show(State(app): State<App>, reader: Reader) -> Markup {
    let lang = reader.lang;
    let acts: Vec<(String, Act)> =
        app.book().acts.iter().map(|(id, act)| (id.clone(), act.clone())).collect();
    let body = html! {
        p.lead { (second::lead(lang, WAIT_MS / 3_600_000)) }
        @if acts.is_empty() { p { (second::none(lang)) } }
        ul.kept { @for (id, act) in &acts { li { (one(&app, &reader, id, act)) } } }
        @if reader.may("/second/key") {
            h2 { (second::key(lang)) }
            p { (second::key_lead(lang)) }
            form method="post" action="/second/key" {
                (Field::new("why", second::why(lang), second::why_why(lang)).text("text", "", true))
                div.submit { button { (second::ask(lang)) } }
            }
        }
    };
    frame(&reader, second::title(lang), Place::None, None, body)
}

fn one(app: &App, reader: &Reader, id: &str, act: &Act) -> Markup {
    let lang = reader.lang;
    let mine = reader.caller.as_ref().map(|caller| act.may_confirm(&caller.id, reader.now_ms));
    html! {
        strong { (says(app, lang, act)) }
        div {
            @if !act.why.is_empty() { p { (second::because(lang)) " " (act.why) } }
            p.soft {
                @match (act.announced_ms, act.mails) {
                    (None, _) => (second::announcing(lang)),
                    (Some(_), 0) => (second::announced_desk(lang)),
                    (Some(at_ms), n) => {
                        (second::announced_mail(lang, reader.when(at_ms), i64::from(n)))
                    }
                }
                @if let Some(at_ms) = act.alone_ms() { " " (second::alone_from(lang, reader.when(at_ms))) }
            }
            @if let What::Erase { watch, line } = &act.what {
                p { a href={ "/watch/" (watch) "#line-" (&line.to_string()[..12]) } { (second::look(lang)) } }
            }
            @if reader.may("/second/{act}/confirm") {
                @if mine == Some(true) {
                    form method="post" action={ "/second/" (id) "/confirm" } {
                        button.main { (confirm(lang, act)) }
                    }
                } @else {
                    p { (second::another_must(lang)) }
                }
                @if act.what != What::Restored {
                    form method="post" action={ "/second/" (id) "/withdraw" } {
                        button { (second::withdraw(lang)) }
                    }
                }
            }
        }
    }
}

fn confirm(lang: words::Lang, act: &Act) -> &'static str {
    match act.what {
        What::Erase { .. } => second::confirm_erase(lang),
        What::RenewKey => second::confirm_key(lang),
        What::Restored => second::confirm_restored(lang),
    }
}
