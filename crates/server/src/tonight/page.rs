//! The page itself and its event stream.

use super::machine::troubles;
use super::row::{Action, Row, Urgency, joint, row};
use crate::page::{Place, Reader, frame};
use crate::server::App;
use crate::stream::stream;
use axum::extract::{Query, State};
use axum::response::IntoResponse;
use maud::{Markup, PreEscaped, html};
use record::Role;
use serde::Deserialize;
use std::cmp::Reverse;
use words::{Lang, desk};

/// Kept watches that are shown; the others are found by name.
const KEPT_MAX: usize = 100;
/// Urgent rows that are shown with their dial; of a hundred at once nobody reads the last.
const URGENT_MAX: usize = 60;

/// What is looked for.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Find {
    #[serde(default)]
    find: String,
}

/// `GET /`
pub(crate) async fn show(
    State(app): State<App>,
    reader: Reader,
    Query(find): Query<Find>,
) -> Markup {
    let all = sorted(&app, &reader);
    let body = html! {
        (bar(&reader, &find, &all))
        (rows(&app, &reader, &find, &all))
    };
    frame(&reader, desk::tonight(reader.lang), Place::Watches, Some("/stream"), body)
}

/// `GET /stream`
pub(crate) async fn live(
    State(app): State<App>,
    reader: Reader,
    Query(find): Query<Find>,
) -> impl IntoResponse {
    stream(
        app,
        reader,
        |_| true,
        move |app, reader| {
            let find = find.clone();
            async move {
                let all = sorted(&app, &reader);
                Ok(html! { (totals(reader.lang, &all)) (rows(&app, &reader, &find, &all)) })
            }
        },
    )
}

fn bar(reader: &Reader, find: &Find, all: &[Row]) -> Markup {
    let lang = reader.lang;
    html! {
        div.bar {
            (totals(lang, all))
            form action="/" role="search" {
                input type="search" name="find" value=(find.find) placeholder=(desk::find(lang))
                    aria-label=(desk::find(lang)) maxlength="100";
                button { (desk::find_do(lang)) }
            }
            @if reader.may("/watch/new") {
                a.button.main href="/watch/new" { (desk::open_watch(lang)) }
            }
        }
    }
}

/// The living part: urgent rows, kept rows.
fn rows(app: &App, reader: &Reader, find: &Find, all: &[Row]) -> Markup {
    let lang = reader.lang;
    let wanted = find.find.trim().to_lowercase();
    let fits = |row: &&Row| {
        wanted.is_empty()
            || [&row.name, &row.under, &row.rest].iter().any(|t| t.to_lowercase().contains(&wanted))
    };
    let shown: Vec<&Row> = all.iter().filter(fits).collect();
    let from = |urgency| shown.iter().position(|row| row.urgency >= urgency).unwrap_or(shown.len());
    let (urgent, calm) = shown.split_at(from(Urgency::Kept));
    let (kept, to_come) = calm.split_at(from(Urgency::ToCome) - urgent.len());
    let alarm = all.iter().any(|row| row.alarm);
    let may_act = reader.may("/watch/{watch}/taken");
    html! {
        div #rows data-alarm=[alarm.then_some("on")] {
            p #sound hidden {
                strong.ember { (desk::sound_off(lang)) } " "
                button type="button" { (desk::sound_on(lang)) }
            }
            (troubles(app, lang))
            @if all.is_empty() {
                p.lead.quiet {
                    (desk::no_watch(lang))
                    @if reader.may("/watch/new") { " " (desk::no_watch_next(lang)) }
                }
            }
            @else if shown.is_empty() { p.lead.quiet { (desk::found_none(lang, find.find.trim())) } }
            ol.rows {
                @for row in urgent.iter().take(URGENT_MAX) { (urgent_row(lang, row, may_act)) }
            }
            (calm_rows(lang, kept, desk::kept))
            (calm_rows(lang, to_come, desk::to_come))
        }
    }
}

/// Watches that need nobody now, under a heading that counts them.
fn calm_rows(lang: Lang, rows: &[&Row], heading: fn(Lang, i64) -> String) -> Markup {
    html! {
        @if !rows.is_empty() {
            h2 { (heading(lang, rows.len() as i64)) }
            ul.kept {
                @for row in rows.iter().take(KEPT_MAX) {
                    li {
                        a href={ "/watch/" (row.id) } { (row.name) }
                        p {
                            @if row.drill { strong { (words::terms_of_trade::drill(lang)) } " " }
                            (row.rest)
                        }
                    }
                }
            }
            @if rows.len() > KEPT_MAX {
                p.soft { (desk::all_kept(lang, (rows.len() - KEPT_MAX) as i64)) }
            }
        }
    }
}

fn sorted(app: &App, reader: &Reader) -> Vec<Row> {
    let book = app.book();
    let Some(caller) = &reader.caller else { return Vec::new() };
    let open = book.watches().filter(|(_, live)| !live.standing.is_over(reader.now_ms));
    let open =
        open.filter(|(_, live)| caller.role != Role::Client || caller.may_see(live.site.as_ref()));
    let mut rows: Vec<Row> = open.map(|(id, live)| row(id, live, &book, reader)).collect();
    rows.sort_by(|a, b| {
        // A practice never stands above anything in earnest.
        let key = |row: &Row| {
            let calm = row.urgency.max(Urgency::Kept);
            let first = (calm, row.drill, row.urgency);
            (first, row.taken.is_some(), Reverse(row.danger), row.since_ms)
        };
        key(a).cmp(&key(b)).then_with(|| a.name.cmp(&b.name))
    });
    rows
}

/// One sentence over all watches.
fn totals(lang: Lang, rows: &[Row]) -> Markup {
    let count = |urgency| rows.iter().filter(|row| row.urgency == urgency).count() as i64;
    let parts = [
        (count(Urgency::Fire), desk::part_fire as fn(Lang, i64) -> String),
        (count(Urgency::Late), desk::part_late),
        (count(Urgency::Unstarted), desk::part_unstarted),
        (count(Urgency::Unheard), desk::part_unheard),
        (count(Urgency::Alerted), words::alerts::part_alerted),
        (count(Urgency::Asks), desk::part_asks),
        (count(Urgency::Kept), desk::part_kept),
        (count(Urgency::ToCome), desk::part_to_come),
    ];
    let parts: Vec<String> =
        parts.iter().filter(|(n, _)| *n > 0).map(|(n, words)| words(lang, *n)).collect();
    let sentence = match parts.is_empty() {
        true => String::new(),
        false => desk::total(lang, rows.len() as i64, parts.join(", ")),
    };
    html! { p #totals .totals { (sentence) } }
}

fn urgent_row(lang: Lang, row: &Row, may_act: bool) -> Markup {
    let strong = matches!(row.urgency, Urgency::Fire | Urgency::Late | Urgency::Unstarted);
    html! {
        li.row id={ "row-" (row.id) } {
            @if row.drill {
                p.drillband { span { (words::terms_of_trade::drill_do_not_call(lang)) } }
            }
            span .edge .(row.urgency.edge()) {}
            div { @if let Some(dial) = &row.dial { (PreEscaped(dial)) } }
            div.where {
                a href={ "/watch/" (row.id) } { (row.name) }
                p { (row.under) }
            }
            div.what {
                p .wrong .plain[!strong] {
                    strong { (row.wrong) }
                    @if !row.rest.is_empty() { (joint(&row.wrong)) (row.rest) }
                }
                p.then { (row.then) }
            }
            div.do {
                @match &row.action {
                    Action::Take if may_act => {
                        form method="post" action={ "/watch/" (row.id) "/taken" } {
                            button .alarm[row.urgency == Urgency::Fire] id={ "take-" (row.id) } { (desk::i_have_this(lang)) }
                        }
                    }
                    Action::Ring { words, number } => {
                        a.button href={ "tel:" (number) } { (words) }
                    }
                    _ => a.button href={ "/watch/" (row.id) } { (desk::look_at(lang)) }
                }
                @if let Some(taken) = &row.taken { p.soft { (taken) } }
            }
        }
    }
}
