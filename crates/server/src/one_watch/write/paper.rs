//! Paper takes over, and its sheets come back.

use super::{Blank, Form, Given, Group, Written};
use maud::{Markup, html};
use record::{PaperAllowed, PaperHandedOver, PaperWhy};
use words::desk_write;

/// More sheets than this in one hand are a mistyped number.
const SHEETS_MAX: u32 = 500;

pub(super) const ALLOWED: Form = Form {
    path: "/watch/{watch}/paper",
    group: Group::Guard,
    title: desk_write::paper,
    lead: desk_write::paper_lead,
    offered: |_| true,
    draw: draw_allowed,
    read: read_allowed,
};

pub(super) const SHEETS: Form = Form {
    path: "/watch/{watch}/sheets",
    group: Group::Record,
    title: desk_write::sheets,
    lead: desk_write::sheets_lead,
    offered: |seen| !seen.state.paper.allowed.is_empty(),
    draw: draw_sheets,
    read: read_sheets,
};

fn draw_allowed(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (blank.code("why", desk_write::paper_why(lang), desk_write::paper_why_why(lang), &PaperWhy::ALL))
        (blank.guard("guard", desk_write::paper_guard(lang), desk_write::paper_guard_why(lang),
            Some(desk_write::everybody_here(lang))))
    }
}

fn read_allowed(given: &mut Given<'_>) -> Option<Written> {
    let guard = given.person("guard");
    Some(Written::one(PaperAllowed { why: given.code("why")?, guard }))
}

fn draw_sheets(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (blank.number("sheets", desk_write::sheets_number(lang), desk_write::sheets_number_why(lang),
            (1, i64::from(SHEETS_MAX))))
    }
}

fn read_sheets(given: &mut Given<'_>) -> Option<Written> {
    let sheets = given.number("sheets", 1..=SHEETS_MAX);
    if sheets.is_none() {
        given.wrong("sheets", desk_write::number_wrong(given.lang()));
    }
    let to = given.reader.caller.as_ref().map(|caller| caller.id.clone());
    let sheets = u16::try_from(sheets?).expect("the range above fits");
    Some(Written::one(PaperHandedOver { sheets, to }))
}
