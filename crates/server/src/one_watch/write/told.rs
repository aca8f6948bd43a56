//! A call or message of the desk.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::{Communication, Means, Party};
use rules::say::Say;
use words::{desk, desk_write};

pub(super) const TOLD: Form = Form {
    path: "/watch/{watch}/told",
    group: Group::Calls,
    title: desk::told,
    lead: desk_write::told_lead,
    offered: |_| true,
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let about = blank.seen.state.open_observations().map(|observation| {
        let says =
            format!("{}, {}", observation.class.say(lang), blank.stamp(&observation.written));
        (observation.written.line, says)
    });
    let about: Vec<_> = about.collect();
    html! {
        (blank.code("party", desk::told_whom(lang), desk::told_whom_why(lang), &Party::ALL))
        (blank.code("means", desk::told_how(lang), desk::told_how_why(lang), &Means::ALL))
        (blank.yes_no("reached", desk::told_reached(lang), desk::told_reached_why(lang), true))
        (blank.happened())
        @if !about.is_empty() {
            (blank.line("of", desk_write::told_about(lang), desk_write::told_about_why(lang),
                Some(desk_write::nothing_single(lang)), about))
        }
        (blank.words(desk::told_words_why(lang)))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let observations = given.seen.state.open_observations().map(|o| o.written.line);
    let of = given.line("of", observations);
    let at_ms = given.past("at");
    let words = given.words();
    let (party, means) = (given.code("party"), given.code("means"));
    let (party, means) = (party?, means?);
    let entry = Communication { party, means, of, at_ms, reached: given.yes("reached") };
    Some(Written::one(Statement::with(entry, words)))
}
