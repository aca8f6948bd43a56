//! `GET /api/watches`: what the page *Tonight* shows, most urgent first.

use super::{rfc3339, table};
use crate::book::{Book, Live};
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use crate::tonight::row::{Row, Urgency, row};
use axum::Json;
use axum::extract::State;
use axum::response::Response;
use ledger::WatchId;
use rules::say::Say;
use serde::Serialize;
use utoipa::ToSchema;

/// A watch as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct WatchRow {
    /// Its id.
    pub(super) id: String,
    /// What the place is called.
    site: String,
    /// `fire`, `late`, `unstarted`, `unheard`, `alerted`, `asks`, `kept` or `released`.
    urgency: &'static str,
    /// The same in words, in the language asked for by `accept-language`.
    says: String,
    /// When the watch is owed from, RFC 3339.
    from: String,
    /// … until, if that is known.
    until: Option<String>,
    /// When it was released.
    released: Option<String>,
    /// Who is on duty.
    on_duty: Vec<String>,
    /// Zones that are due, soonest first, not over their gap.
    next: Option<DueRow>,
    /// The longest gap that has ended, s.
    longest_gap_s: Option<i64>,
    /// What was allowed for it, s.
    longest_gap_allowed_s: Option<u32>,
    /// Observations that are open.
    observations_open: usize,
    /// Alerts whose cause lasts.
    alerts: Vec<AlertRow>,
    /// A demonstration: nothing can be dialled.
    demo: bool,
    /// A test site.
    test: bool,
    /// A drill goes on.
    drill: bool,
}

/// By when a zone must be seen.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct DueRow {
    zone: String,
    zone_name: String,
    /// RFC 3339.
    due: String,
    /// Longest gap allowed, s.
    allowed_s: u32,
}

/// An alert.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct AlertRow {
    /// The id of its entry.
    line: String,
    /// Its code.
    cause: String,
    /// The same in words.
    says: &'static str,
    zone: Option<String>,
    /// By when the opposite was due, RFC 3339.
    due: String,
    /// Whether somebody has taken it.
    taken: bool,
}

/// Every live watch, most urgent first
#[utoipa::path(get, operation_id = "watches", path = "/api/watches", tag = "watches",
    responses((status = 200, body = Vec<WatchRow>), (status = 401, description = "No account and no token")))]
pub(crate) async fn list(State(app): State<App>, reader: Reader) -> Json<Vec<WatchRow>> {
    Json(rows(&app, &reader))
}

/// The same as CSV
#[utoipa::path(get, operation_id = "watches_csv", path = "/api/watches.csv", tag = "watches",
    responses((status = 200, body = String, content_type = "text/csv"), (status = 401, description = "No account and no token")))]
pub(crate) async fn csv(State(app): State<App>, reader: Reader) -> Result<Response, Problem> {
    let head = [
        "id",
        "site",
        "urgency",
        "says",
        "from",
        "until",
        "on_duty",
        "longest_gap_s",
        "longest_gap_allowed_s",
        "observations_open",
        "alerts",
    ];
    let mut table = vec![head.map(str::to_owned).to_vec()];
    for row in rows(&app, &reader) {
        let number = |n: Option<i64>| n.map_or(String::new(), |n| n.to_string());
        table.push(vec![
            row.id,
            row.site,
            row.urgency.to_owned(),
            row.says,
            row.from,
            row.until.unwrap_or_default(),
            row.on_duty.join("; "),
            number(row.longest_gap_s),
            number(row.longest_gap_allowed_s.map(i64::from)),
            row.observations_open.to_string(),
            row.alerts.len().to_string(),
        ]);
    }
    Ok(table::file("watches.csv", &table))
}

fn rows(app: &App, reader: &Reader) -> Vec<WatchRow> {
    let book = app.book();
    let live = book.watches().filter(|(_, live)| !live.standing.is_over(reader.now_ms));
    let mut rows: Vec<(Row, WatchRow)> = live
        .map(|(id, live)| {
            let row = row(id, live, &book, reader);
            let shown = of(id, live, &book, reader, &row);
            (row, shown)
        })
        .collect();
    rows.sort_by(|(a, _), (b, _)| {
        let key = |row: &Row| (row.urgency, row.taken.is_some(), row.since_ms);
        key(a).cmp(&key(b)).then_with(|| a.name.cmp(&b.name))
    });
    rows.into_iter().map(|(_, shown)| shown).collect()
}

/// One watch.
pub(super) fn of(id: &WatchId, live: &Live, book: &Book, reader: &Reader, row: &Row) -> WatchRow {
    let (standing, now_ms) = (&live.standing, reader.now_ms);
    let name_of = |who| book.name(who).unwrap_or_default().to_owned();
    let next = standing.due.iter().find(|due| due.due_ms >= now_ms && !due.stopped);
    let alert = |raised: &crate::standing::Raised| AlertRow {
        line: raised.line.to_string(),
        cause: crate::page::codes::value(raised.cause),
        says: raised.cause.say(reader.lang),
        zone: raised.zone.as_ref().map(ToString::to_string),
        due: rfc3339(raised.due_ms),
        taken: raised.taken.is_some(),
    };
    let lasting = match standing.is_over(now_ms) {
        true => Vec::new(),
        false => standing.lasting(now_ms),
    };
    WatchRow {
        id: id.to_string(),
        site: live.documents.name().to_owned(),
        urgency: match row.urgency {
            _ if standing.is_over(now_ms) => "released",
            Urgency::Alerted => "alerted",
            other => other.edge(),
        },
        says: format!("{} {}", row.wrong, row.rest).trim().to_owned(),
        from: rfc3339(standing.from_ms),
        until: standing.until_ms.map(rfc3339),
        released: standing.released_ms.map(rfc3339),
        on_duty: standing.on_duty.iter().map(|duty| name_of(&duty.who)).collect(),
        next: next.map(|due| DueRow {
            zone: due.zone.to_string(),
            zone_name: live.documents.zone(&due.zone).to_owned(),
            due: rfc3339(due.due_ms),
            allowed_s: due.allowed_s,
        }),
        longest_gap_s: standing.longest.as_ref().map(|longest| longest.length_ms / 1000),
        longest_gap_allowed_s: standing.longest.as_ref().map(|longest| longest.allowed_s),
        observations_open: standing.observations.len(),
        alerts: lasting.into_iter().map(alert).collect(),
        demo: standing.demo,
        test: standing.test,
        drill: standing.drill,
    }
}
