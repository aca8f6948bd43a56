//! Rounds told by telephone, for a guard whose phone is dead. Every line says so on every page.

use super::{Blank, Form, Given, Group, Written};
use crate::page::codes;
use crate::page::form::checks;
use crate::scribe::Statement;
use ledger::PersonId;
use maud::{Markup, html};
use record::{
    Entry, HazardClass, HowSeen, Observed, PhonedIn, Seen, Severity, ShiftBegan, ShiftEnded, Words,
};
use words::{desk, desk_write};

pub(super) const PHONED_IN: Form = Form {
    path: "/watch/{watch}/phonedin",
    group: Group::Guard,
    title: desk_write::phoned_in,
    lead: desk_write::phoned_in_lead,
    offered: |_| true,
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let stops = stops(blank.seen).into_iter().map(|(stop, zone, name)| {
        let zone = blank.seen.live.documents.zone(&zone).to_owned();
        let says = if zone == name { zone } else { format!("{name} ({zone})") };
        (stop.to_string(), says)
    });
    let shift = [
        ("began".to_owned(), desk_write::phoned_began(lang).to_owned()),
        ("ended".to_owned(), desk_write::phoned_ended(lang).to_owned()),
    ];
    let nothing = std::iter::once((String::new(), desk_write::nothing_found(lang)));
    let classes =
        HazardClass::ALL.map(|class| (codes::value(class), rules::say::Say::say(class, lang)));
    html! {
        (blank.guard("by", desk_write::phoned_by(lang), desk_write::phoned_by_why(lang), None))
        (blank.happened())
        (checks("shift", desk_write::phoned_shift(lang), desk_write::phoned_shift_why(lang), shift,
            |value| blank.typed.chose("shift", value)))
        (checks("stops", desk_write::phoned_stops(lang), desk_write::phoned_stops_why(lang), stops,
            |value| blank.typed.chose("stops", value)))
        (blank.field("class", desk_write::phoned_found(lang), desk_write::phoned_found_why(lang))
            .choice(nothing.chain(classes), blank.typed.get("class")))
        (blank.zone("zone", desk::zone(lang), desk_write::phoned_zone_why(lang), desk_write::no_zone(lang)))
        (blank.words(desk_write::phoned_words_why(lang)))
        @if let Some(fault) = blank.faults.get("stops") { p.fault { (fault) } }
    }
}

/// Every stop of the plan in force with its zone and name.
fn stops(seen: &super::Seen) -> Vec<(record::StopId, record::ZoneId, String)> {
    let Some(plan) = &seen.state.plan else { return Vec::new() };
    let names = seen.live.documents.plan.as_ref();
    let names = names.map(rules::say::Names::of_plan).unwrap_or_default();
    let stops = plan.set.stops.iter();
    stops.map(|(stop, zone)| (stop.clone(), zone.clone(), names.stop(stop).to_owned())).collect()
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let lang = given.lang();
    let by = given.person_needed("by");
    let at_ms = given.past_or_now("at");
    let class: Option<HazardClass> = given.text("class").and_then(|code| codes::read(&code));
    let words = if class.is_some() { given.words_needed() } else { given.words() };
    let zone = given.zone("zone");
    let by = by?;
    let mut told: Vec<(Entry, Words)> = Vec::new();
    if given.chose("shift", "began") {
        told.push((ShiftBegan { until_ms: None, silent: false }.into(), Words::default()));
    }
    let round = next_round(given.seen, &by);
    let mut zones_seen = 0_u32;
    for (stop, zone, _) in stops(given.seen) {
        if given.chose("stops", stop.as_str()) {
            zones_seen += 1;
            let how = HowSeen::Hand;
            told.push((
                Seen { stop, zone, how, tag: None, round, fix: false }.into(),
                Words::default(),
            ));
        }
    }
    if let Some(class) = class {
        let entry = Observed {
            class,
            severity: observed_severity(class),
            zone,
            stop: None,
            place: None,
            at_ms: Some(at_ms),
            again: None,
        };
        told.push((entry.into(), words));
    } else if !words.is_empty() {
        told.push((record::Note { of: None }.into(), words));
    }
    if given.chose("shift", "ended") {
        let entry = ShiftEnded {
            all_clear: class.is_none(),
            signature: None,
            rounds: if zones_seen > 0 { round } else { round.saturating_sub(1) },
            lines: 0,
        };
        told.push((entry.into(), Words::default()));
    }
    if told.is_empty() || given.all("stops").len() as u32 > zones_seen {
        given.wrong("stops", desk_write::phoned_nothing(lang));
    }
    let statements = told
        .into_iter()
        .map(|(entry, words)| {
            let (states, body) = (entry.kind().to_owned(), entry.to_body());
            Statement::with(PhonedIn { by: by.clone(), at_ms, states, body }, words)
        })
        .collect();
    Some(Written { statements, documents: Vec::new() })
}

fn observed_severity(class: HazardClass) -> Severity {
    class.default_severity()
}

fn next_round(seen: &super::Seen, who: &PersonId) -> u32 {
    let rounds = seen.state.rounds.iter().filter(|round| round.who == *who);
    rounds.map(|round| round.number).max().unwrap_or(0) + 1
}
