//! Nothing of this watch is erased while a hold stands; somebody lifts it by name.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::{HoldLifted, HoldSet};
use words::desk_write;

pub(super) const SET: Form = Form {
    path: "/watch/{watch}/hold",
    group: Group::Record,
    title: desk_write::hold,
    lead: desk_write::hold_lead,
    offered: |seen| !seen.state.is_held(),
    draw: |blank| blank.words(desk_write::hold_words_why(blank.lang())),
    read: read_set,
};

pub(super) const LIFTED: Form = Form {
    path: "/watch/{watch}/lift",
    group: Group::Record,
    title: desk_write::lift,
    lead: desk_write::lift_lead,
    offered: |seen| seen.state.is_held(),
    draw: draw_lifted,
    read: read_lifted,
};

fn read_set(given: &mut Given<'_>) -> Option<Written> {
    let words = given.words_needed();
    Some(Written::one(Statement::with(HoldSet { cause: None }, words)))
}

fn draw_lifted(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let holds = blank.seen.state.holds.iter().filter(|hold| hold.lifted.is_none());
    let holds = holds.map(|hold| (hold.set.line, blank.stamp(&hold.set)));
    html! {
        (blank.line("hold", desk_write::which_hold(lang), desk_write::which_hold_why(lang), None, holds.collect()))
        (blank.words(desk_write::lift_words_why(lang)))
    }
}

fn read_lifted(given: &mut Given<'_>) -> Option<Written> {
    let holds = given.seen.state.holds.iter().filter(|hold| hold.lifted.is_none());
    let holds: Vec<_> = holds.map(|hold| hold.set.line).collect();
    let hold = given.line_needed("hold", holds);
    let words = given.words_needed();
    Some(Written::one(Statement::with(HoldLifted { hold: hold? }, words)))
}
