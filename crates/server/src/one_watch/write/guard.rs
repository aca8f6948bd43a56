//! A guard for a stretch, or one who will not come after all.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use maud::{Markup, html};
use record::Scheduled;
use words::{desk, desk_write};

/// A shift whose end nobody typed yet, ms (our own default).
const SHIFT_MS: i64 = 12 * 3_600_000;

pub(super) const GUARD: Form = Form {
    path: "/watch/{watch}/guard",
    group: Group::Guard,
    title: desk::plan_guard,
    lead: desk_write::guard_lead,
    offered: |_| true,
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let begins_ms = blank.seen.live.standing.until_ms.unwrap_or(blank.reader.now_ms);
    let given = |name: &str, otherwise_ms: i64| match blank.typed.get(name) {
        "" => blank.as_field(otherwise_ms),
        typed => typed.to_owned(),
    };
    let planned: Vec<(String, String)> = blank
        .seen
        .state
        .scheduled
        .iter()
        .map(|plan| {
            let who = super::super::parts::called(&blank.app.book(), &plan.person, lang);
            let stretch = blank.reader.stretch(plan.from_ms, plan.until_ms, &blank.seen.tz());
            (plan.written.line.to_string(), format!("{who}, {stretch}"))
        })
        .collect();
    let planned = planned.iter().map(|(value, says)| (value.clone(), says.as_str()));
    let nobody = std::iter::once((String::new(), desk_write::nobody_single(lang)));
    html! {
        (blank.guard("person", desk::guard(lang), desk::plan_guard_why(lang), None))
        (blank.field("from", desk::from(lang), desk::plan_from_why(lang))
            .text("datetime-local", &given("from", begins_ms), true))
        (blank.field("until", desk::until(lang), desk::plan_until_why(lang))
            .text("datetime-local", &given("until", begins_ms + SHIFT_MS), true))
        (blank.field("instead", desk_write::instead(lang), desk_write::instead_why(lang))
            .choice(nobody.chain(planned), blank.typed.get("instead")))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let person = given.person_needed("person");
    let (from_ms, until_ms) = (given.when_needed("from"), given.when_needed("until"));
    let lines: Vec<_> = given.seen.state.scheduled.iter().map(|plan| plan.written.line).collect();
    let instead = given.line("instead", lines);
    let (person, from_ms, until_ms) = (person?, from_ms?, until_ms?);
    if until_ms <= from_ms {
        given.wrong("until", desk::until_wrong(given.lang()));
    }
    let mut statements = Vec::new();
    let old = given.seen.state.scheduled.iter().find(|plan| Some(plan.written.line) == instead);
    if let Some(old) = old {
        let entry = Scheduled {
            person: old.person.clone(),
            from_ms: old.from_ms,
            until_ms: old.until_ms,
            withdrawn: true,
        };
        statements.push(Statement::with(entry, crate::opening::called(given.app, &old.person)));
    }
    let words = crate::opening::called(given.app, &person);
    let entry = Scheduled { person, from_ms, until_ms, withdrawn: false };
    statements.push(Statement::with(entry, words));
    Some(Written { statements, documents: Vec::new() })
}
