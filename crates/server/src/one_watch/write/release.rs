//! The end of the watch.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::{ReleasedBy, WatchReleased};
use rules::say::Say;
use words::{desk, desk_write};

pub(super) const RELEASE: Form = Form {
    path: "/watch/{watch}/release",
    group: Group::Record,
    title: desk::release,
    lead: desk::release_note,
    offered: |seen| seen.live.standing.released_ms.is_none(),
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let may = may(blank.seen);
    html! {
        (before_it_ends(blank))
        @if !may.is_empty() {
            p {
                strong { (desk_write::release_may(lang, list(lang, &may))) }
            }
        }
        (blank.code_meant("by", desk::release_by(lang), desk::release_by_why(lang), &ReleasedBy::ALL))
        (blank.yes_no("written", desk::release_written(lang), desk::release_written_why(lang), false))
        @if blank.faults.contains_key("anyway") || blank.typed.chose("anyway", "yes") {
            (crate::page::form::checks("anyway", desk_write::release_other(lang),
                desk_write::release_other_why(lang),
                [("yes".to_owned(), desk_write::release_anyway(lang).to_owned())],
                |value| blank.typed.chose("anyway", value)))
        }
        (blank.words(desk::release_words_why(lang)))
    }
}

/// What is still open: said before the watch ends, never hidden.
fn before_it_ends(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let state = &blank.seen.state;
    let observations = state.open_observations().count() as i64;
    let out: Vec<_> = state.impairments.iter().filter(|i| i.until_ms.is_none()).collect();
    let works = state.hot_work.iter().filter(|work| work.closed.is_none()).count() as i64;
    html! {
        @if observations + works > 0 || !out.is_empty() || state.paper.to_collect().is_some() {
            ul.still {
                @for impairment in out { li { (desk_write::still_out(lang, impairment.system.say(lang))) } }
                @if observations > 0 { li { (desk_write::still_open(lang, observations)) } }
                @if works > 0 { li { (desk_write::still_work(lang, works)) } }
                @if state.paper.to_collect().is_some() { li { (desk_write::paper_to_collect(lang)) } }
            }
        }
    }
}

/// Who may end it by the terms; empty where no source says.
fn may(seen: &super::Seen) -> Vec<ReleasedBy> {
    let terms = seen.live.documents.terms.as_ref();
    terms.map(|terms| terms.owed.release_by.clone()).unwrap_or_default()
}

fn list(lang: words::Lang, all: &[ReleasedBy]) -> String {
    all.iter().map(|by| by.say(lang)).collect::<Vec<_>>().join(", ")
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let by: ReleasedBy = given.code("by")?;
    let may = may(given.seen);
    if !may.is_empty() && !may.contains(&by) && !given.chose("anyway", "yes") {
        given.wrong("anyway", desk_write::release_other(given.lang()));
    }
    let at_ms = given.reader.now_ms;
    let words = given.words();
    let entry = WatchReleased { by, at_ms, written: given.yes("written"), blob: None };
    Some(Written::one(Statement::with(entry, words)))
}
