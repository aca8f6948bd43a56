//! Hot work as the desk hears of it: permit, beginning, last spark, looks afterwards, the end, a stop.

use super::super::Seen;
use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use ledger::LineId;
use maud::{Markup, html};
use record::{
    HotWorkBegan, HotWorkClosed, HotWorkPermitted, LastSpark, LookedBack, PermitCheck, WorkStopped,
};
use std::collections::BTreeMap;
use words::desk_write;

/// The longest watch after work that a permit states, minutes: a mistyped number is likelier than more.
const AFTER_MAX_MIN: u32 = 24 * 60;

const fn form(
    path: &'static str,
    title: fn(words::Lang) -> &'static str,
    lead: fn(words::Lang) -> &'static str,
    offered: fn(&Seen) -> bool,
    draw: fn(&Blank<'_>) -> Markup,
    read: fn(&mut Given<'_>) -> Option<Written>,
) -> Form {
    Form { path, group: Group::HotWork, title, lead, offered, draw, read }
}

pub(super) const PERMIT: Form = form(
    "/watch/{watch}/permit",
    desk_write::permit,
    desk_write::permit_lead,
    |_| true,
    draw_permit,
    read_permit,
);
pub(super) const BEGAN: Form = form(
    "/watch/{watch}/work",
    desk_write::work,
    desk_write::work_lead,
    |_| true,
    draw_began,
    read_began,
);
pub(super) const SPARK: Form = form(
    "/watch/{watch}/spark",
    desk_write::spark,
    desk_write::spark_lead,
    has_work,
    draw_spark,
    read_spark,
);
pub(super) const LOOKED_BACK: Form = form(
    "/watch/{watch}/lookback",
    desk_write::look_back,
    desk_write::look_back_lead,
    has_work,
    draw_look_back,
    read_look_back,
);
pub(super) const CLOSED: Form = form(
    "/watch/{watch}/closed",
    desk_write::close_work,
    desk_write::close_work_lead,
    has_work,
    draw_closed,
    read_closed,
);
pub(super) const STOPPED: Form = form(
    "/watch/{watch}/stopped",
    desk_write::stop_work,
    desk_write::stop_work_lead,
    |_| true,
    draw_stopped,
    read_stopped,
);

fn has_work(seen: &Seen) -> bool {
    works(seen).next().is_some()
}

/// Work that is not signed off.
fn works(seen: &Seen) -> impl Iterator<Item = &watch::HotWork> {
    seen.state.hot_work.iter().filter(|work| work.closed.is_none())
}

fn permits(seen: &Seen) -> impl Iterator<Item = (LineId, &HotWorkPermitted)> {
    seen.fold.lines().filter_map(|kept| match &kept.said {
        record::Entry::HotWorkPermitted(body) => Some((kept.id, body)),
        _ => None,
    })
}

fn the_work(blank: &Blank<'_>, none: Option<&str>) -> Markup {
    let lang = blank.lang();
    let works = works(blank.seen).map(|work| {
        let zone = work.zone.as_ref().map_or("", |zone| blank.seen.live.documents.zone(zone));
        (work.began.line, format!("{} {zone}", blank.stamp(&work.began)))
    });
    blank.line(
        "work",
        desk_write::which_work(lang),
        desk_write::which_work_why(lang),
        none,
        works.collect(),
    )
}

fn work_lines(given: &Given<'_>) -> Vec<LineId> {
    works(given.seen).map(|work| work.began.line).collect()
}

fn draw_permit(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (blank.text("number", desk_write::permit_number(lang), desk_write::permit_number_why(lang)))
        (blank.zone("zone", desk_write::permit_zone(lang), desk_write::permit_zone_why(lang),
            desk_write::no_zone(lang)))
        (blank.when("until", desk_write::permit_until(lang), desk_write::permit_until_why(lang)))
        (blank.codes("checks", desk_write::permit_checks(lang), desk_write::permit_checks_why(lang),
            &PermitCheck::ALL))
        (blank.number("watch_min", desk_write::permit_watch(lang), desk_write::permit_watch_why(lang),
            (0, i64::from(AFTER_MAX_MIN))))
        (blank.number("looks_min", desk_write::permit_looks(lang), desk_write::permit_looks_why(lang),
            (0, i64::from(AFTER_MAX_MIN))))
        (blank.number("every_min", desk_write::permit_every(lang), desk_write::permit_every_why(lang),
            (1, i64::from(AFTER_MAX_MIN))))
        (blank.words(desk_write::permit_words_why(lang)))
    }
}

fn read_permit(given: &mut Given<'_>) -> Option<Written> {
    let chosen: Vec<PermitCheck> = given.codes("checks");
    let checks: BTreeMap<PermitCheck, bool> =
        PermitCheck::ALL.into_iter().map(|check| (check, chosen.contains(&check))).collect();
    let mut seconds = |name| given.number(name, 0..=AFTER_MAX_MIN).map(|minutes| minutes * 60);
    let (watch_s, looks_s) = (seconds("watch_min"), seconds("looks_min"));
    let look_every_s = seconds("every_min").filter(|s| *s > 0);
    let entry = HotWorkPermitted {
        permit: given.text("number"),
        place: None,
        zone: given.zone("zone"),
        blob: None,
        until_ms: given.when("until"),
        checks,
        watch_s,
        looks_s,
        look_every_s,
    };
    let words = given.words();
    Some(Written::one(Statement::with(entry, words)))
}

fn draw_began(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let permits = permits(blank.seen).map(|(line, body)| {
        let number = body.permit.clone().unwrap_or_default();
        let zone = body.zone.as_ref().map_or("", |zone| blank.seen.live.documents.zone(zone));
        (line, format!("{number} {zone}"))
    });
    let permits: Vec<_> = permits.collect();
    html! {
        @if has_work(blank.seen) { (the_work(blank, Some(desk_write::new_work(lang)))) }
        (blank.line("permitted", desk_write::work_permit(lang), desk_write::work_permit_why(lang),
            Some(desk_write::nothing_single(lang)), permits))
        (blank.zone("zone", desk_write::permit_zone(lang), desk_write::permit_zone_why(lang),
            desk_write::no_zone(lang)))
        (blank.words(desk_write::permit_words_why(lang)))
    }
}

fn read_began(given: &mut Given<'_>) -> Option<Written> {
    let known: Vec<LineId> = permits(given.seen).map(|(line, _)| line).collect();
    let permitted = given.line("permitted", known);
    let again = given.line("work", work_lines(given));
    let entry = HotWorkBegan { permitted, place: None, zone: given.zone("zone"), again };
    let words = given.words();
    Some(Written::one(Statement::with(entry, words)))
}

fn draw_spark(blank: &Blank<'_>) -> Markup {
    html! { (the_work(blank, None)) (blank.happened()) }
}

fn read_spark(given: &mut Given<'_>) -> Option<Written> {
    let at_ms = given.past("at");
    let work = given.line_needed("work", work_lines(given))?;
    Some(Written::one(LastSpark { work, at_ms }))
}

fn draw_look_back(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (the_work(blank, None))
        (blank.yes_no("clear", desk_write::look_back_clear(lang), desk_write::look_back_clear_why(lang), true))
        (blank.words(desk_write::look_back_words_why(lang)))
    }
}

fn read_look_back(given: &mut Given<'_>) -> Option<Written> {
    let clear = given.yes("clear");
    let words = if clear { given.words() } else { given.words_needed() };
    // Whoever writes this was not at the place, so it is no look at the zone.
    let work = given.line_needed("work", work_lines(given))?;
    Some(Written::one(Statement::with(LookedBack { work, zone: None, clear }, words)))
}

fn draw_closed(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (the_work(blank, None))
        (blank.yes_no("surveyed", desk_write::surveyed(lang), desk_write::surveyed_why(lang), false))
    }
}

fn read_closed(given: &mut Given<'_>) -> Option<Written> {
    let surveyed = given.yes("surveyed");
    let work = given.line_needed("work", work_lines(given))?;
    Some(Written::one(HotWorkClosed { work, surveyed }))
}

fn draw_stopped(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (the_work(blank, Some(desk_write::nothing_single(lang))))
        (blank.words(desk_write::stop_work_words_why(lang)))
    }
}

fn read_stopped(given: &mut Given<'_>) -> Option<Written> {
    let work = given.line("work", work_lines(given));
    let words = given.words_needed();
    Some(Written::one(Statement::with(WorkStopped { work, place: None }, words)))
}
