//! Who came by, and who read the record.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::{Party, ReviewOf, Reviewed, Visit};
use words::desk_write;

pub(super) const VISIT: Form = Form {
    path: "/watch/{watch}/visit",
    group: Group::Calls,
    title: desk_write::visit,
    lead: desk_write::visit_lead,
    offered: |_| true,
    draw: draw_visit,
    read: read_visit,
};

pub(super) const REVIEW: Form = Form {
    path: "/watch/{watch}/review",
    group: Group::Record,
    title: desk_write::review,
    lead: desk_write::review_lead,
    offered: |_| true,
    draw: draw_review,
    read: read_review,
};

fn draw_visit(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (blank.code("by", desk_write::visit_by(lang), desk_write::visit_by_why(lang), &[
            Party::Supervisor, Party::Authority, Party::FireService, Party::Owner,
            Party::Coordinator, Party::Insurer, Party::Other,
        ]))
        (blank.yes_no("announced", desk_write::visit_announced(lang),
            desk_write::visit_announced_why(lang), false))
        (blank.yes_no("guard_found", desk_write::visit_found(lang),
            desk_write::visit_found_why(lang), true))
        (blank.words(desk_write::visit_words_why(lang)))
    }
}

fn read_visit(given: &mut Given<'_>) -> Option<Written> {
    let words = given.words();
    let by = given.code("by")?;
    let entry =
        Visit { by, announced: given.yes("announced"), guard_found: given.yes("guard_found") };
    Some(Written::one(Statement::with(entry, words)))
}

fn draw_review(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (blank.code("of", desk_write::review_of(lang), desk_write::review_of_why(lang), &ReviewOf::ALL))
        (blank.when("to", desk_write::review_to(lang), desk_write::review_to_why(lang)))
        (blank.words(desk_write::review_words_why(lang)))
    }
}

fn read_review(given: &mut Given<'_>) -> Option<Written> {
    let words = given.words();
    let to_ms = given.past_or_now("to");
    let entry = Reviewed { of: given.code("of")?, to_ms };
    Some(Written::one(Statement::with(entry, words)))
}
