//! A correction: a line of its own; the old one stays and says that it was corrected.

use super::{Blank, Form, Given, Group, Written};
use crate::scribe::Statement;
use crate::tonight::small_dial::tz_min;
use maud::{Markup, html};
use record::{Corrected, Severity, WhyCorrected};
use rules::say::Say;
use words::desk_write;

/// So many of the newest lines are offered; another one is chosen in the record itself.
const OFFERED_MAX: usize = 40;

pub(super) const CORRECTED: Form = Form {
    path: "/watch/{watch}/correct",
    group: Group::Record,
    title: desk_write::correct,
    lead: desk_write::correct_lead,
    offered: |_| true,
    draw,
    read,
};

/// The newest lines, and the one that was asked for.
pub(super) fn the_line(blank: &Blank<'_>, none: Option<&str>) -> Markup {
    let lang = blank.lang();
    let seen = blank.seen;
    let book = blank.app.book();
    let names = super::super::lines::names(&book, seen, lang);
    drop(book);
    let tz_min = tz_min(&seen.live.standing.tz, blank.reader.now_ms);
    let says = rules::say::Reader { lang, names: &names, tz_min, dated: false };
    let asked_for = blank.typed.get("of");
    let mut lines: Vec<&watch::Kept> = seen.fold.lines().collect();
    lines.reverse();
    let newest = lines.iter().enumerate();
    let offered = newest.filter(|(i, kept)| *i < OFFERED_MAX || kept.id.to_string() == asked_for);
    let offered = offered.map(|(_, kept)| {
        let at_ms = kept.stated_ms.unwrap_or(kept.clk.recorded_ms());
        let at = crate::page::time::when(at_ms, &seen.tz(), blank.reader.now_ms, lang);
        (kept.id, format!("{at} {}", says.entry(&kept.said)))
    });
    blank.line(
        "of",
        desk_write::correct_of(lang),
        desk_write::correct_of_why(lang),
        none,
        offered.collect(),
    )
}

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let same = std::iter::once((String::new(), desk_write::as_it_was(lang)));
    let severities = Severity::ALL.map(|s| (crate::page::codes::value(s), s.say(lang)));
    html! {
        (the_line(blank, None))
        (blank.code("why", desk_write::correct_why(lang), desk_write::correct_why_why(lang), &WhyCorrected::ALL))
        (blank.when("at", desk_write::correct_at(lang), desk_write::correct_at_why(lang)))
        (blank.zone("zone", desk_write::correct_zone(lang), desk_write::correct_zone_why(lang),
            desk_write::as_it_was(lang)))
        (blank.field("severity", desk_write::correct_severity(lang), desk_write::correct_severity_why(lang))
            .choice(same.chain(severities), blank.typed.get("severity")))
        (blank.yes_no("withdrawn", desk_write::correct_withdrawn(lang),
            desk_write::correct_withdrawn_why(lang), false))
        (blank.words(desk_write::correct_words_why(lang)))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let of = given.line_needed("of", given.seen.fold.lines().map(|kept| kept.id));
    let why: Option<WhyCorrected> = given.code("why");
    let at_ms = given.past("at");
    let zone = given.zone("zone");
    let severity: Option<Severity> =
        given.text("severity").and_then(|code| crate::page::codes::read(&code));
    // A severity is lowered with a reason, and what is changed without saying how needs words.
    let says_itself = at_ms.is_some() || zone.is_some() || given.yes("withdrawn");
    let words = match says_itself && severity.is_none() {
        true => given.words(),
        false => given.words_needed(),
    };
    let withdrawn = given.yes("withdrawn");
    let entry = Corrected { of: of?, why: why?, at_ms, zone, stop: None, severity, withdrawn };
    Some(Written::one(Statement::with(entry, words)))
}
