//! One site: what a guard must know there, whom to call, its plan, its watches.

use super::Site;
use super::plan;
use crate::book::Live;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::people::languages;
use crate::problem::Problem;
use crate::server::App;
use crate::shelf;
use crate::tonight::row::dialled;
use axum::extract::{Path, State};
use ledger::WatchId;
use maud::{Markup, html};
use rules::say::Say;
use words::{Lang, desk, desk_sites};

/// Watches shown, newest first.
const WATCHES_MAX: usize = 20;

/// `GET /sites/{site}`
pub(crate) async fn one(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let drawn = plan::stored(&app, &site).await?;
    let receipts = receipts(&app, &reader, &id).await?;
    let body = html! {
        p.lead { (site.town) ", " (site.address) ". " (words::zone_place(&site.tz)) "." }
        div.submit {
            @if reader.may("/watch/new") {
                a.button.main href={ "/watch/new?site=" (id) } { (desk_sites::open_here(lang)) }
            }
            @if reader.may("/sites/{site}/edit") {
                a.button href={ "/sites/" (id) "/edit" } { (desk_sites::change(lang)) }
            }
            a.button href={ "/sites/" (id) "/plan" } { (desk_sites::plan(lang)) }
        }
        (facts(lang, &site))
        (contacts(lang, &site))
        @if let Some(plan) = &drawn { (plan::pictures(lang, plan)) }
        (instructions(&reader, &id, &site, &receipts))
        h2 { (desk::place_watches(lang)) }
        (watches(&app, &reader, &id))
    };
    Ok(frame(&reader, &site.name, Place::Sites, None, body))
}

fn facts(lang: Lang, site: &Site) -> Markup {
    let listed = |label: &str, lines: &[String]| {
        html! {
            @if !lines.is_empty() {
                dt { (label) }
                dd { @for line in lines { (line) br; } }
            }
        }
    };
    let told = |label: &str, text: &str| {
        html! { @if !text.is_empty() { dt { (label) } dd { (text) } } }
    };
    let emergency = site.card(None).emergency_number;
    html! {
        dl.facts {
            dt { (desk::emergency(lang)) }
            dd { (emergency.as_deref().unwrap_or(desk::emergency_none(lang))) }
            (told(desk_sites::cross_street(lang), &site.cross_street))
            (told(desk_sites::meet(lang), &site.meet))
            @if site.people_about > 0 {
                dt { (desk_sites::people_about(lang)) }
                dd { (site.people_about) }
            }
            @if site.asleep { dt { (desk::asleep(lang)) } dd { (desk::asleep_yes(lang)) } }
            (told(desk_sites::client(lang), &site.client))
            (listed(desk_sites::buildings(lang), &site.buildings))
            (listed(desk_sites::call_spots(lang), &site.call_spots))
            (listed(desk_sites::equipment(lang), &site.equipment))
        }
    }
}

fn contacts(lang: Lang, site: &Site) -> Markup {
    html! {
        @if !site.contacts.is_empty() {
            h2 { (desk_sites::contacts(lang)) }
            ul.kept {
                @for contact in &site.contacts {
                    li {
                        strong { (contact.party.say(lang)) }
                        div {
                            (contact.name) " "
                            @let number = dialled(&contact.number);
                            @if !number.is_empty() { a href={ "tel:" (number) } { (contact.number) } }
                            @if !contact.account.is_empty() {
                                ". " (desk_sites::account(lang)) " " (contact.account)
                            }
                        }
                    }
                }
            }
        }
    }
}

fn instructions(reader: &Reader, id: &str, site: &Site, receipts: &Markup) -> Markup {
    let lang = reader.lang;
    let newest = site.instructions.first();
    html! {
        h2 { (desk_sites::instructions(lang)) }
        @if site.instructions.is_empty() { p { (desk_sites::instructions_none(lang)) } }
        @for sheet in &site.instructions {
            h3 {
                (desk::language(Lang::from_tag(&sheet.language))) ", "
                (desk_sites::version(lang, sheet.version))
            }
            ul lang=(sheet.language) { @for line in &sheet.lines { li { (line) } } }
        }
        (receipts)
        @if reader.may("/sites/{site}/instructions") {
            details {
                summary { (desk_sites::instructions_new(lang)) }
                form method="post" action={ "/sites/" (id) "/instructions" } {
                    (Field::new("language", desk::person_language(lang), desk_sites::instructions_language_why(lang))
                        .choice(languages(), newest.map_or(lang.tag(), |sheet| &sheet.language)))
                    (Field::new("lines", desk::instructions(lang), desk::instructions_why(lang))
                        .area(&newest.map(|sheet| sheet.lines.join("\n")).unwrap_or_default(), 8))
                    div.submit { button { (desk::save(lang)) } }
                }
            }
        }
    }
}

/// Who has read which version on the newest watch here.
async fn receipts(app: &App, reader: &Reader, id: &str) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let newest = here(&app.book(), id).first().map(|(watch, _)| (*watch).clone());
    let state = match newest {
        Some(watch) => shelf::read(app, &watch).await?.about(reader.now_ms),
        None => None,
    };
    let book = app.book();
    let read: Vec<(String, u32, i64)> = state
        .map(|state| {
            let shifts = state.shifts.iter();
            shifts
                .flat_map(|shift| {
                    let who = book.name(&shift.who).unwrap_or(desk::somebody(lang)).to_owned();
                    let read = shift.instructions_read.iter();
                    read.map(move |r| (who.clone(), r.version, r.written.when.at_ms))
                })
                .collect()
        })
        .unwrap_or_default();
    Ok(html! {
        @for (who, version, at_ms) in read {
            p.soft { (desk_sites::read_at(lang, reader.when(at_ms), version, who)) }
        }
    })
}

/// Watches of a site, newest first.
fn here<'b>(book: &'b crate::book::Book, id: &str) -> Vec<(&'b WatchId, &'b Live)> {
    let mut here: Vec<_> = book
        .watches()
        .filter(|(_, live)| live.site.as_ref().is_some_and(|site| site.as_str() == id))
        .collect();
    here.sort_by_key(|(_, live)| std::cmp::Reverse(live.standing.from_ms));
    here
}

fn watches(app: &App, reader: &Reader, id: &str) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let all = here(&book, id);
    html! {
        ul.kept {
            @for (watch, live) in all.iter().take(WATCHES_MAX) {
                li {
                    a href={ "/watch/" (watch) } { (reader.when(live.standing.from_ms)) }
                    p {
                        @match live.standing.released_ms {
                            Some(at_ms) => (desk::released_at(lang, reader.when(at_ms))),
                            None => (desk::runs(lang)),
                        }
                    }
                }
            }
        }
    }
}
