//! The page with a picture on one side and its lines on the other.

use super::{Paper, compare, lines};
use crate::account::Caller;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame, time};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use record::Role;
use serde::Deserialize;
use sheet::Kind;
use words::paper_in as says;

/// What was just written, if the page is shown after that.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct After {
    written: Option<u32>,
}

/// `GET /watch/{watch}/pages/{digest}`
pub(crate) async fn show(
    State(app): State<App>,
    Path((watch, digest)): Path<(String, String)>,
    Query(after): Query<After>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let paper = super::read(&app, (&watch, &digest), &caller, reader.now_ms).await?;
    let lang = reader.lang;
    let action = format!("/watch/{}/pages/{}", paper.seen.id, paper.digest);
    let body = html! {
        @match after.written {
            Some(0) => p.said role="status" { (says::none_written(lang)) },
            Some(n) => p.said role="status" { strong { (says::written(lang, i64::from(n))) } },
            None => {}
        }
        (said(&reader, &paper))
        div.paper {
            (picture(&reader, &paper, &action))
            @if reader.may("/watch/{watch}/pages/{digest}") {
                form method="post" action=(action) {
                    (writer(&app, &reader, &paper))
                    (ticks(&reader, &paper))
                    (lines::fields(&reader, &paper))
                    div.submit { button.main { (says::write(lang)) } }
                }
            }
        }
        p {
            a href={ "/watch/" (paper.seen.id) "/pages" } { (says::another(lang)) } " · "
            a href={ "/watch/" (paper.seen.id) } { (says::back(lang)) }
        }
    };
    let title = says::title(lang, paper.seen.live.documents.name());
    Ok(frame(&reader, &title, Place::Watches, None, body))
}

/// What the picture turned out to be, and what does not fit.
fn said(reader: &Reader, paper: &Paper) -> Markup {
    let lang = reader.lang;
    let reading = &paper.reading;
    let is = match (reading.kind, &reading.code) {
        (Kind::Sheet, Some(code)) if code.grid.is_none() => {
            says::writing_page(lang, code.of, code.page)
        }
        (Kind::Sheet, Some(code)) => {
            let ticked = reading.boxes.iter().filter(|one| one.ticked && !one.unsure).count();
            let unsure = reading.boxes.iter().filter(|one| one.unsure).count();
            says::sheet_is(lang, code.of, code.page, ticked, unsure)
        }
        _ => says::notepad_is(lang).to_owned(),
    };
    html! {
        p.lead { (is) }
        @for fault in &reading.faults { p { strong.ember { (fault.say(lang)) } } }
        p.soft.num { (says::digest(lang, paper.digest)) }
    }
}

/// The picture with a frame around each box: dotted where it is unsure.
fn picture(reader: &Reader, paper: &Paper, action: &str) -> Markup {
    let page = paper.reading.straightened.as_ref().unwrap_or(&paper.upright);
    let (width, height) = (page.width(), page.height());
    let marked = paper.reading.boxes.iter().filter(|one| one.ticked || one.unsure);
    html! {
        figure {
            svg viewBox=(format!("0 0 {width} {height}")) role="img"
                aria-label=(says::picture_alternative(reader.lang)) {
                image href={ (action) "/picture" } width=(width) height=(height) {}
                @for one in marked {
                    @let [x, y, w, h] = one.at;
                    rect .unsure[one.unsure] x=(x.saturating_sub(5)) y=(y.saturating_sub(5))
                        width=(w + 10) height=(h + 10) {}
                }
            }
        }
    }
}

fn writer(app: &App, reader: &Reader, paper: &Paper) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let guards: Vec<(String, String)> = book
        .people
        .iter()
        .filter(|(_, person)| matches!(person.role, Role::Guard | Role::ShiftLead))
        .map(|(id, person)| (id.to_string(), person.name.clone()))
        .collect();
    let standing = &paper.seen.live.standing;
    let usual = standing.planned.first().map(|(who, ..)| who.to_string());
    let usual = usual.or(standing.last_guard.as_ref().map(ToString::to_string));
    Field::new("writer", says::writer(lang), says::writer_why(lang)).choice(
        guards.iter().map(|(id, name)| (id.clone(), name.as_str())),
        &usual.unwrap_or_default(),
    )
}

/// Every row of the sheet, phone beside paper.
fn ticks(reader: &Reader, paper: &Paper) -> Markup {
    let lang = reader.lang;
    let rows = compare::rows(paper);
    html! {
        @if !rows.is_empty() {
            h2 { (says::ticks(lang)) }
            p.soft { (says::ticks_why(lang)) }
            @for row in &rows { (row_of(reader, paper, row)) }
        }
    }
}

fn row_of(reader: &Reader, paper: &Paper, row: &compare::Row) -> Markup {
    let lang = reader.lang;
    let n = row.number;
    let began = row.window.map(|window| time::to_field(window.from_ms, &paper.seen.tz()));
    let unsure = row.cells.iter().any(|cell| cell.unsure);
    html! {
        fieldset.sheetrow .unsure[unsure] {
            legend.num { (row.says) }
            label for={ "began-" (n) } { (says::column_began(lang)) }
            input type="datetime-local" id={ "began-" (n) } name={ "began-" (n) }
                value=[began];
            table {
                thead { tr {
                    th scope="col" { (says::column_zone(lang)) }
                    th scope="col" { (says::column_phone(lang)) }
                    th scope="col" { (says::column_paper(lang)) }
                } }
                tbody {
                    @for cell in &row.cells {
                        @let id = format!("tick-{n}-{}", cell.zone);
                        tr {
                            td { label for=(id) { (cell.name) } }
                            td.num {
                                @if cell.phone.is_empty() { span.soft { (says::phone_none(lang)) } }
                                (cell.phone.join(", "))
                            }
                            td {
                                input type="checkbox" id=(id) name={ "tick-" (n) } value=(cell.zone)
                                    checked[cell.ticked];
                                @if cell.unsure { " " strong { "? " (says::look(lang)) } }
                                @if !cell.typed.is_empty() {
                                    " " span.mark.num { (cell.typed.join(", ")) }
                                }
                            }
                        }
                    }
                }
            }
            label.check {
                input type="checkbox" name="right" value=(n);
                span { (says::right(lang)) }
            }
        }
    }
}
