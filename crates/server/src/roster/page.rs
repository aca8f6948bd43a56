//! The page.

use super::{Confirmed, Planned, could_come, planned};
use crate::book::Book;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame, time};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use maud::{Markup, html};
use std::collections::BTreeMap;
use words::{desk, desk_roster, minutes_left};

const DAY_MS: i64 = 24 * 3_600_000;
/// Somebody who is not there so long before the beginning is looked for (common practice: arrival half an hour before).
const ARRIVE_MS: i64 = 30 * 60_000;
/// Stretches shown of each part.
const SHOWN_MAX: usize = 200;

/// `GET /roster`
pub(crate) async fn show(State(app): State<App>, reader: Reader) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let confirmed = app.settings.all::<Confirmed>().await?;
    let confirmed: BTreeMap<String, Confirmed> = confirmed.into_iter().collect();
    let all = planned(&app, reader.now_ms);
    let split = all.iter().position(|shift| shift.from_ms > reader.now_ms + DAY_MS);
    let (tonight, later) = all.split_at(split.unwrap_or(all.len()));
    let week_ms = reader.now_ms + 8 * DAY_MS;
    let later: Vec<&Planned> = later.iter().filter(|shift| shift.from_ms < week_ms).collect();
    let tonight: Vec<&Planned> = tonight.iter().collect();
    let book = app.book();
    let part = |title: &str, shifts: &[&Planned]| {
        html! {
            @if !shifts.is_empty() {
                h2 { (title) }
                (table(&book, &reader, &all, shifts, &confirmed, title))
            }
        }
    };
    let body = html! {
        @if all.is_empty() { p.lead.quiet { (desk::roster_none(lang)) } }
        (part(desk_roster::tonight(lang), &tonight))
        (part(desk_roster::week(lang), &later))
        (takeaways(&reader))
    };
    Ok(frame(&reader, desk::place_roster(lang), Place::Roster, None, body))
}

fn table(
    book: &Book,
    reader: &Reader,
    all: &[Planned],
    shifts: &[&Planned],
    confirmed: &BTreeMap<String, Confirmed>,
    title: &str,
) -> Markup {
    let lang = reader.lang;
    let when = |at_ms, shift: &Planned| time::when(at_ms, &shift.tz, reader.now_ms, lang);
    html! {
        div.scroll tabindex="0" role="region" aria-label=(title) {
            table.stack {
                thead {
                    tr {
                        th scope="col" { (desk::person_name(lang)) }
                        th scope="col" { (desk::site(lang)) }
                        th scope="col" { (desk::from(lang)) }
                        th scope="col" { (desk::until(lang)) }
                        th scope="col" { (desk::roster_there(lang)) }
                    }
                }
                tbody {
                    @for shift in shifts.iter().take(SHOWN_MAX) {
                        tr {
                            th scope="row" {
                                a href={ "/people/" (shift.who) } {
                                    (book.name(&shift.who).unwrap_or(desk::somebody(lang)))
                                }
                                @if book.people.get(&shift.who).is_some_and(|p| p.has_lapsed(time::day(shift.until_ms, &shift.tz))) {
                                    br; span.over { (desk_roster::qualification_lapsed(lang)) }
                                }
                            }
                            td { a href={ "/watch/" (shift.watch) } { (shift.site) } }
                            td { time { (when(shift.from_ms, shift)) } }
                            td { span.narrow aria-hidden="true" { "– " } time { (when(shift.until_ms, shift)) } }
                            td {
                                (there(reader, shift))
                                @if shift.on_duty_ms.is_none() && !shift.gone {
                                    (said_yes(reader, shift, confirmed.get(&shift.line.to_string())))
                                    (replacement(book, reader, all, shift))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Whether this person is where they should be.
fn there(reader: &Reader, shift: &Planned) -> Markup {
    let lang = reader.lang;
    let clock = |at_ms| time::clock(at_ms, &shift.tz);
    html! {
        @if let Some(since_ms) = shift.on_duty_ms { (desk_roster::on_duty(lang, clock(since_ms))) }
        @else if shift.gone { (desk_roster::gone(lang)) }
        @else if shift.from_ms <= reader.now_ms {
            strong.over { (desk_roster::missing(lang, clock(shift.from_ms))) }
        }
        @else if shift.from_ms - reader.now_ms <= ARRIVE_MS {
            strong { (desk_roster::arriving(lang, minutes_left((shift.from_ms - reader.now_ms) / 1000))) }
        }
        @else { (desk_roster::not_yet(lang, clock(shift.from_ms))) }
    }
}

fn said_yes(reader: &Reader, shift: &Planned, confirmed: Option<&Confirmed>) -> Markup {
    let lang = reader.lang;
    html! {
        @match confirmed {
            Some(confirmed) => span.soft { ", " (desk_roster::confirmed(lang, reader.when(confirmed.at_ms))) },
            None => {
                span.soft { ", " (desk_roster::not_confirmed(lang)) }
                @if reader.may("/roster/confirm") {
                    form.inline method="post" action="/roster/confirm" {
                        input type="hidden" name="line" value=(shift.line);
                        button { (desk_roster::confirm(lang)) }
                    }
                }
            }
        }
    }
}

/// Open, choose: two clicks.
fn replacement(book: &Book, reader: &Reader, all: &[Planned], shift: &Planned) -> Markup {
    let lang = reader.lang;
    let guards = could_come(book, all, shift);
    html! {
        @if reader.may("/roster/replace") && !guards.is_empty() {
            details.replace {
                summary { (desk_roster::replace(lang)) }
                p.soft { (desk_roster::replace_lead(lang)) }
                form method="post" action="/roster/replace" {
                    input type="hidden" name="line" value=(shift.line);
                    @for busy in [false, true] {
                        @let of: Vec<_> = guards.iter().filter(|(_, _, b)| *b == busy).collect();
                        @if !of.is_empty() {
                            p.soft { (if busy { desk_roster::replace_busy(lang) } else { desk_roster::replace_free(lang) }) }
                            @for (id, name, _) in of.iter().take(12) {
                                button name="person" value=(id) { (name) } " "
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The roster for other programs.
fn takeaways(reader: &Reader) -> Markup {
    let lang = reader.lang;
    html! {
        p.submit { a.button href="/roster/calendar.ics" { (desk_roster::calendar(lang)) } }
        h2 { (desk_roster::hours(lang)) }
        form action="/roster/hours.csv" {
            (Field::new("from", desk_roster::hours_from(lang), desk_roster::hours_from_why(lang))
                .text("date", &reader.in_days(-7).to_string(), false))
            (Field::new("until", desk_roster::hours_until(lang), desk_roster::hours_until_why(lang))
                .text("date", &reader.today().to_string(), false))
            div.submit { button { (desk_roster::hours_take(lang)) } }
        }
    }
}
