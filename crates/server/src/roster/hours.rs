//! Hours on duty by client and order number, as a table.

use crate::book::Live;
use crate::csv_file;
use crate::page::{Reader, time};
use crate::problem::Problem;
use crate::server::App;
use crate::shelf;
use crate::sites::Site;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;
use ledger::WatchId;
use serde::Deserialize;
use std::collections::BTreeMap;
use watch::Shift;
use words::{desk, desk_roster};

/// Which days.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Days {
    #[serde(default)]
    from: String,
    #[serde(default)]
    until: String,
}

/// `GET /roster/hours.csv`
pub(crate) async fn hours(
    State(app): State<App>,
    reader: Reader,
    Query(days): Query<Days>,
) -> Result<Response, Problem> {
    let lang = reader.lang;
    let bad = || Problem::Bad(desk::time_wrong(lang).to_owned());
    let day = |text: &str, otherwise: Date| match text {
        "" => Ok(otherwise),
        text => text.parse::<Date>().map_err(|_| bad()),
    };
    let from = day(&days.from, reader.in_days(-7))?;
    let until = day(&days.until, reader.today())?;
    let begin = |day: Date| time::from_field(&format!("{day}T00:00"), &reader.tz);
    let (from_ms, until_ms) =
        begin(from).zip(until.tomorrow().ok().and_then(begin)).ok_or_else(bad)?;
    let sites: BTreeMap<String, Site> = app.settings.all::<Site>().await?.into_iter().collect();
    let mut rows = Vec::new();
    for watch in of_these_days(&app, from_ms, until_ms) {
        let live = shelf::read(&app, &watch).await?;
        rows.extend(rows_of(&app, &reader, &sites, &live, (from_ms, until_ms)));
    }
    rows.sort();
    let head = [
        desk_roster::column_client(lang),
        desk_roster::column_order(lang),
        desk_roster::column_site(lang),
        desk_roster::column_person(lang),
        desk_roster::column_from(lang),
        desk_roster::column_until(lang),
        desk_roster::column_hours(lang),
    ];
    let table = csv_file::write(&head, rows.iter().map(Vec::as_slice));
    let disposition = format!("attachment; filename=\"hours-{from}-{until}.csv\"");
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    Ok((headers, table).into_response())
}

/// Watches that were not over before these days and began before their end; whoever began earlier than was planned is
/// counted in by a day's margin.
fn of_these_days(app: &App, from_ms: i64, until_ms: i64) -> Vec<WatchId> {
    let day_ms = 24 * 3_600_000;
    let book = app.book();
    let of_them = book.watches().filter(|(_, live)| {
        let standing = &live.standing;
        let over_ms = standing.released_ms.map(|at_ms| standing.ended_ms.max(Some(at_ms)));
        let over_ms = over_ms.flatten().unwrap_or(i64::MAX);
        standing.from_ms - day_ms < until_ms && over_ms >= from_ms
    });
    of_them.map(|(id, _)| id.clone()).collect()
}

fn rows_of(
    app: &App,
    reader: &Reader,
    sites: &BTreeMap<String, Site>,
    live: &Live,
    (from_ms, until_ms): (i64, i64),
) -> Vec<Vec<String>> {
    let Some(state) = live.about(reader.now_ms) else { return Vec::new() };
    let book = app.book();
    let site = state.opening.as_ref().and_then(|opening| sites.get(opening.site.as_str()));
    let client = site.map_or("", |site| site.client.as_str());
    let order = order_of(&state, live);
    let row = |shift: &Shift| {
        let ends_ms = shift.until_ms.unwrap_or(reader.now_ms).min(until_ms);
        let begins_ms = shift.from_ms.max(from_ms);
        if ends_ms <= begins_ms {
            return None;
        }
        let hundredths = (ends_ms - begins_ms - away_ms(shift, begins_ms, ends_ms)) / 36_000;
        Some(vec![
            client.to_owned(),
            order.clone(),
            live.documents.name().to_owned(),
            book.name(&shift.who).unwrap_or(desk::somebody(reader.lang)).to_owned(),
            time::to_field(begins_ms, &reader.tz),
            time::to_field(ends_ms, &reader.tz),
            format!("{}.{:02}", hundredths / 100, hundredths % 100),
        ])
    };
    state.shifts.iter().filter_map(row).collect()
}

/// The number of the newest order that has one, else where the longest gap comes from.
fn order_of(state: &watch::State, live: &Live) -> String {
    let ordered = state.orders.iter().rev().find_map(|order| order.number.clone());
    let source = || {
        let demands = live.documents.terms.iter().flat_map(|terms| &terms.demands);
        demands.into_iter().find(|demand| demand.gap_s.is_some()).map(|d| d.source.clone())
    };
    ordered.or_else(source).unwrap_or_default()
}

/// How long nobody stood in for somebody on a break, within a stretch.
fn away_ms(shift: &Shift, begins_ms: i64, ends_ms: i64) -> i64 {
    let breaks = shift.breaks.iter().filter(|pause| pause.covered_by.is_none());
    breaks
        .map(|b| b.until_ms.unwrap_or(ends_ms).min(ends_ms) - b.from_ms.max(begins_ms))
        .map(|length_ms| length_ms.max(0))
        .sum()
}
