//! Who is where: every planned shift that has not ended, by its beginning.

use crate::page::{Place, Reader, frame, time};
use crate::server::App;
use axum::extract::State;
use jiff::tz::TimeZone;
use ledger::{PersonId, WatchId};
use maud::{Markup, html};
use words::desk;

/// A planned shift.
struct Planned {
    watch: WatchId,
    site: String,
    who: PersonId,
    from_ms: i64,
    until_ms: i64,
    on_duty: bool,
    tz: TimeZone,
}

/// `GET /roster`
pub(crate) async fn show(State(app): State<App>, reader: Reader) -> Markup {
    let lang = reader.lang;
    let planned = planned(&app, reader.now_ms);
    let book = app.book();
    let when = |at_ms, tz: &TimeZone| time::when(at_ms, tz, reader.now_ms, lang);
    let body = html! {
        @if planned.is_empty() { p.lead.quiet { (desk::roster_none(lang)) } }
        @else {
            div.scroll tabindex="0" role="region" aria-label=(desk::place_roster(lang)) {
                table {
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
                        @for shift in &planned {
                            tr {
                                th scope="row" {
                                    a href={ "/people/" (shift.who) } {
                                        (book.name(&shift.who).unwrap_or(desk::somebody(lang)))
                                    }
                                }
                                td { a href={ "/watch/" (shift.watch) } { (shift.site) } }
                                td { (when(shift.from_ms, &shift.tz)) }
                                td { (when(shift.until_ms, &shift.tz)) }
                                td {
                                    @if shift.on_duty { (desk::roster_on_duty(lang)) }
                                    @else if shift.from_ms > reader.now_ms { (desk::roster_not_yet(lang)) }
                                    @else { strong.over { (desk::roster_missing(lang)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    };
    frame(&reader, desk::place_roster(lang), Place::Roster, None, body)
}

fn planned(app: &App, now_ms: i64) -> Vec<Planned> {
    let book = app.book();
    let open = book.watches().filter(|(_, live)| !live.standing.is_over(now_ms));
    let mut planned: Vec<Planned> = open
        .flat_map(|(id, live)| {
            let shifts = live.standing.planned.iter().filter(|(.., until_ms)| *until_ms > now_ms);
            shifts.map(|(who, from_ms, until_ms)| Planned {
                watch: id.clone(),
                site: live.documents.name().to_owned(),
                who: who.clone(),
                from_ms: *from_ms,
                until_ms: *until_ms,
                on_duty: live.standing.on_duty.iter().any(|duty| duty.who == *who),
                tz: TimeZone::get(&live.standing.tz).unwrap_or(TimeZone::UTC),
            })
        })
        .collect();
    planned.sort_by(|a, b| (a.from_ms, &a.site).cmp(&(b.from_ms, &b.site)));
    planned
}
