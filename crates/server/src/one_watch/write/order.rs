//! A written instruction, and the terms that it changes.

use super::super::Seen;
use super::{Blank, Form, Given, Group, Written};
use crate::page::time;
use crate::scribe::Statement;
use maud::{Markup, html};
use record::documents::{Demand, Document, Owed, Terms, VERSION};
use record::{DemandFrom, OrderReceived, TermsSet, ZoneId};
use std::collections::BTreeMap;
use words::{Lang, desk, desk_write};

/// The longest gap that an order may set, minutes.
const GAP_MAX_MIN: u32 = 24 * 60;
/// The most people that an order may ask for at one time.
const PEOPLE_MAX: u32 = 500;
/// What the demand for every zone is about.
const EVERY_ZONE: &str = "zones";

pub(super) const ORDER: Form = Form {
    path: "/watch/{watch}/order",
    group: Group::Calls,
    title: desk_write::order,
    lead: desk_write::order_lead,
    offered: |_| true,
    draw,
    read,
};

fn draw(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    html! {
        (blank.field("from", desk_write::order_from(lang), desk_write::order_from_why(lang))
            .choice(crate::opening::sources(lang), blank.typed.get("from")))
        (blank.text("number", desk_write::order_number(lang), desk_write::order_number_why(lang)))
        (blank.when("at", desk_write::order_at(lang), desk_write::order_at_why(lang)))
        (blank.yes_no("written", desk_write::order_written(lang), desk_write::order_written_why(lang), true))
        (blank.number("gap_min", desk::gap(lang), desk_write::order_gap_why(lang), (1, i64::from(GAP_MAX_MIN))))
        (blank.zone("zone", desk_write::order_zone(lang), desk_write::order_zone_why(lang),
            desk_write::every_zone(lang)))
        (blank.number("people", desk_write::order_people(lang), desk_write::order_people_why(lang),
            (1, i64::from(PEOPLE_MAX))))
        (blank.when("until", desk_write::order_until(lang), desk_write::order_until_why(lang)))
        (blank.field("words", desk_write::order_words(lang), desk_write::order_words_why(lang))
            .area(blank.typed.get("words"), 4))
    }
}

fn read(given: &mut Given<'_>) -> Option<Written> {
    let from: Option<DemandFrom> = given.code("from");
    let at_ms = given.past_or_now("at");
    let gap_s = given.number("gap_min", 1..=GAP_MAX_MIN).map(|minutes| minutes * 60);
    let zone = given.zone("zone");
    let people = given.number("people", 1..=PEOPLE_MAX).and_then(|n| u16::try_from(n).ok());
    let watch_until_ms = given.when("until");
    let words = given.words();
    let number = given.text("number");
    if number.is_none() && words.is_empty() {
        given.wrong("number", desk_write::order_which(given.lang()));
    }
    let from = from?;
    let gaps_s = gaps(given, from, gap_s, zone.as_ref());
    let order = OrderReceived {
        from,
        number: number.clone(),
        at_ms,
        written: given.yes("written"),
        blob: None,
        gaps_s: gaps_s.clone(),
        people_at_least: people,
        watch_until_ms,
    };
    let mut written = Written::one(Statement::with(order, words));
    if let Some((set, document)) = changed(given, from, number, gaps_s, zone, people) {
        written.statements.push(set.into());
        written.documents.push(document.to_bytes());
    }
    Some(written)
}

/// The gaps that the order sets. Only the authority may allow a longer one.
fn gaps(
    given: &mut Given<'_>,
    from: DemandFrom,
    gap_s: Option<u32>,
    zone: Option<&ZoneId>,
) -> BTreeMap<ZoneId, u32> {
    let Some(gap_s) = gap_s else { return BTreeMap::new() };
    let zones = given.seen.state.zones.iter().map(|known| &known.id);
    let zones: Vec<ZoneId> = zones.filter(|id| zone.is_none_or(|z| z == *id)).cloned().collect();
    let now = in_force(given.seen);
    let loosens = zones.iter().any(|id| now.get(id).is_some_and(|held| *held < gap_s));
    if loosens && from != DemandFrom::Authority {
        given.wrong("gap_min", desk_write::only_authority(given.lang()));
    }
    zones.into_iter().map(|id| (id, gap_s)).collect()
}

/// The gaps that hold now.
fn in_force(seen: &Seen) -> BTreeMap<ZoneId, u32> {
    seen.state.due.iter().map(|due| (due.zone.clone(), due.allowed_s)).collect()
}

/// The terms after the order, with its number as the source of what it set.
fn changed(
    given: &Given<'_>,
    from: DemandFrom,
    number: Option<String>,
    gaps_s: BTreeMap<ZoneId, u32>,
    zone: Option<ZoneId>,
    people: Option<u16>,
) -> Option<(TermsSet, Terms)> {
    if gaps_s.is_empty() && people.is_none() {
        return None;
    }
    let seen = given.seen;
    let set = seen.state.terms.as_ref().map(|terms| &terms.set)?;
    let source = number.unwrap_or_else(|| desk_write::order_unnumbered(given.lang()).to_owned());
    let mut terms = seen.live.documents.terms.clone().unwrap_or_else(|| Terms {
        v: VERSION,
        demands: Vec::new(),
        owed: Owed::default(),
    });
    if let Some(gap_s) = gaps_s.values().next() {
        let of = zone.map_or(EVERY_ZONE.to_owned(), |zone| zone.to_string());
        let text = demand_text(given.lang(), *gap_s);
        let demand = Demand { of, gap_s: Some(*gap_s), source: source.clone(), from, text };
        terms.demands.retain(|held| held.of != demand.of);
        terms.demands.insert(0, demand);
    }
    if let Some(people) = people {
        let text = desk_write::demand_people(given.lang(), i64::from(people));
        let demand = Demand { of: "people".to_owned(), gap_s: None, source, from, text };
        terms.demands.retain(|held| held.of != demand.of);
        terms.demands.push(demand);
    }
    let mut all = set.gaps_s.clone();
    all.extend(in_force(seen));
    all.extend(gaps_s);
    let set = TermsSet {
        terms: terms.digest(),
        gaps_s: all,
        people_at_least: people.unwrap_or(set.people_at_least),
        ..set.clone()
    };
    Some((set, terms))
}

fn demand_text(lang: Lang, gap_s: u32) -> String {
    desk::demand_gap(lang, words::minutes(i64::from(gap_s) / 60))
}

/// Orders as the watch's page shows them, newest first.
pub(in crate::one_watch) fn shown(reader: &crate::page::Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    html! {
        @if !seen.state.orders.is_empty() {
            h2 { (desk_write::orders(lang)) }
            ul.kept {
                @for order in seen.state.orders.iter().rev() {
                    li {
                        strong {
                            (rules::say::Say::say(order.from, lang)) " " (order.number.as_deref().unwrap_or_default())
                        }
                        div {
                            (time::when(order.written.when.at_ms, &seen.tz(), reader.now_ms, lang)) ". "
                            @if order.in_writing { (desk_write::in_writing(lang)) } @else { (desk_write::spoken(lang)) }
                            " " (seen.words(order.written.line))
                        }
                    }
                }
            }
        }
    }
}
