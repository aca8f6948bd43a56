//! The rounds that hold: each guard's own, everybody's for whoever has none, and what none of them passes.

use super::Places;
use super::table::table;
use super::tonight::round_of;
use crate::one_watch::{Seen, called};
use crate::page::Reader;
use crate::server::App;
use ledger::PersonId;
use maud::{Markup, html};
use record::RouteSet;
use rules::say::rounds::listed;
use std::collections::BTreeSet;
use words::rounds;

pub(super) fn draw(app: &App, reader: &Reader, seen: &Seen, places: &Places) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let routes = seen.state.routes.iter().map(|route| &route.set);
    let routes: Vec<_> = routes.filter(|set| !set.stops.is_empty()).collect();
    let round = |set: &RouteSet| -> Vec<usize> {
        set.stops.iter().filter_map(|stop| places.number(stop.as_str())).collect()
    };
    let passed_by_none = passed_by_none(seen, places);
    html! {
        h2 { (rounds::in_force(lang)) }
        @if routes.is_empty() { p { (rounds::none_given(lang)) } }
        @if !passed_by_none.is_empty() {
            p { strong.over {
                (rounds::passed_by_none(lang, passed_by_none.len() as i64, listed(lang, &passed_by_none)))
            } }
        }
        @for set in routes {
            @let who = set.guard.as_ref().map(|who| called(&book, who, lang));
            details open[set.guard.is_some()] {
                summary { (who.unwrap_or_else(|| rounds::everybody_else(lang).to_owned())) }
                (table(reader, places, &round(set)))
            }
        }
    }
}

/// Whoever is on duty, then whoever is planned, each once.
pub(super) fn people(seen: &Seen) -> Vec<PersonId> {
    let on_duty = seen.state.on_duty.iter().map(|duty| &duty.who);
    let planned = seen.state.scheduled.iter().map(|shift| &shift.person);
    let mut people: Vec<PersonId> = Vec::new();
    for who in on_duty.chain(planned) {
        if !people.contains(who) {
            people.push(who.clone());
        }
    }
    people
}

/// Places that nobody's round leads to: those on duty count, or those planned while nobody is.
fn passed_by_none<'p>(seen: &Seen, places: &'p Places) -> Vec<&'p str> {
    let on_duty: Vec<PersonId> = seen.state.on_duty.iter().map(|duty| duty.who.clone()).collect();
    let walking = if on_duty.is_empty() { people(seen) } else { on_duty };
    if walking.is_empty() {
        return Vec::new();
    }
    let walked: BTreeSet<usize> =
        walking.iter().flat_map(|who| round_of(seen, places, who)).collect();
    let left = (0..places.list.len()).filter(|stop| !walked.contains(stop));
    left.map(|stop| places.list[stop].name.as_str()).collect()
}
