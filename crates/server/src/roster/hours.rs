//! Hours on duty by client and order number, as a table.

use crate::csv_file;
use crate::page::{Reader, time};
use crate::problem::Problem;
use crate::server::App;
use crate::sites::Site;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;
use serde::Deserialize;
use std::collections::BTreeMap;
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
    let mut rows = rows(&app, &reader, &sites, from_ms, until_ms);
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

fn rows(
    app: &App,
    reader: &Reader,
    sites: &BTreeMap<String, Site>,
    from_ms: i64,
    until_ms: i64,
) -> Vec<Vec<String>> {
    let book = app.book();
    let mut rows = Vec::new();
    for (_, live) in book.watches() {
        let state = live.fold.about(reader.now_ms);
        let site = state.opening.as_ref().and_then(|opening| sites.get(opening.site.as_str()));
        let client = site.map_or("", |site| site.client.as_str());
        let order = state.orders.iter().rev().find_map(|order| order.number.clone());
        let source = || {
            let demands = live.documents.terms.iter().flat_map(|terms| &terms.demands);
            demands.into_iter().find(|demand| demand.gap_s.is_some()).map(|d| d.source.clone())
        };
        let order = order.or_else(source).unwrap_or_default();
        for shift in &state.shifts {
            let ends_ms = shift.until_ms.unwrap_or(reader.now_ms).min(until_ms);
            let begins_ms = shift.from_ms.max(from_ms);
            if ends_ms <= begins_ms {
                continue;
            }
            let breaks = shift.breaks.iter().filter(|pause| pause.covered_by.is_none());
            let away_ms: i64 = breaks
                .map(|b| b.until_ms.unwrap_or(ends_ms).min(ends_ms) - b.from_ms.max(begins_ms))
                .map(|length_ms| length_ms.max(0))
                .sum();
            let hundredths = (ends_ms - begins_ms - away_ms) / 36_000;
            rows.push(vec![
                client.to_owned(),
                order.clone(),
                live.documents.name().to_owned(),
                book.name(&shift.who).unwrap_or(desk::somebody(reader.lang)).to_owned(),
                time::to_field(begins_ms, &reader.tz),
                time::to_field(ends_ms, &reader.tz),
                format!("{}.{:02}", hundredths / 100, hundredths % 100),
            ]);
        }
    }
    rows
}
