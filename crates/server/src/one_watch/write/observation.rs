//! What was done about an observation, and whether that ends it.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::{Acted, ClosedObservation, WhatDone};
use rules::say::Say;
use words::desk_write;

pub(super) const DONE: Form = Form {
    path: "/watch/{watch}/done",
    group: Group::Record,
    title: desk_write::done,
    lead: desk_write::done_lead,
    offered: |seen| seen.state.open_observations().next().is_some(),
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let open = blank.seen.state.open_observations().map(|observation| {
        let says =
            format!("{}, {}", observation.class.say(lang), blank.stamp(&observation.written));
        (observation.written.line, says)
    });
    html! {
        (blank.line("of", desk_write::done_of(lang), desk_write::done_of_why(lang), None, open.collect()))
        (blank.codes("done", desk_write::done_what(lang), desk_write::done_what_why(lang), &WhatDone::ALL))
        (blank.yes_no("closes", desk_write::done_closes(lang), desk_write::done_closes_why(lang), false))
        (blank.happened())
        (blank.words(desk_write::done_words_why(lang)))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let open: Vec<_> = given.seen.state.open_observations().map(|o| o.written.line).collect();
    let of = given.line_needed("of", open);
    let done: Vec<WhatDone> = given.codes("done");
    if done.is_empty() {
        given.wrong("done", desk_write::choose(given.lang()));
    }
    let at_ms = given.past("at");
    let words = given.words();
    let of = of?;
    Some(Written::one(match given.yes("closes") {
        true => Statement::with(ClosedObservation { of, done }, words),
        false => Statement::with(Acted { of, done, at_ms }, words),
    }))
}
