//! `GET /api/watches/{watch}` and its lines: what the page of one watch shows.

use super::watches::{self, WatchRow};
use super::{rfc3339, table};
use crate::one_watch::{self, Seen};
use crate::page::{Reader, codes};
use crate::problem::Problem;
use crate::server::App;
use axum::Json;
use axum::extract::{Path, State};
use axum::response::Response;
use ledger::WatchId;
use rules::say::Say;
use serde::Serialize;
use utoipa::ToSchema;

/// One watch.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OneWatch {
    watch: WatchRow,
    zones: Vec<ZoneRow>,
    observations: Vec<ObservationRow>,
    /// Entries in its record.
    lines: usize,
}

/// A zone.
#[derive(Debug, Serialize, ToSchema)]
struct ZoneRow {
    id: String,
    name: String,
    /// Longest gap allowed, s.
    allowed_s: Option<u32>,
    /// Longest gap so far, s.
    longest_gap_s: Option<i64>,
    /// When it was recorded as seen last, RFC 3339.
    last_seen: Option<String>,
}

/// An open observation.
#[derive(Debug, Serialize, ToSchema)]
struct ObservationRow {
    line: String,
    /// Its class.
    class: String,
    says: &'static str,
    zone: Option<String>,
    /// RFC 3339.
    at: String,
    open_s: i64,
    /// The client says that it is put right.
    marked_fixed: bool,
}

/// An entry of the record.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LineRow {
    /// Its id: the SHA-256 of its bytes.
    id: String,
    /// Its kind.
    kind: String,
    /// When it happened, RFC 3339.
    at: String,
    /// When it was written.
    written: String,
    /// Who states it; empty if the name is not known or was erased.
    who: String,
    /// In words, in the language asked for by `accept-language`.
    says: String,
    /// What somebody typed.
    words: String,
}

/// One watch
#[utoipa::path(get, operation_id = "watch", path = "/api/watches/{watch}", tag = "watches", params(("watch" = String, Path, description = "Its id")),
    responses((status = 200, body = OneWatch), (status = 401, description = "No account and no token"), (status = 404, description = "No such watch")))]
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Json<OneWatch>, Problem> {
    let seen = seen(&app, &id, &reader).await?;
    let zones = seen.state.zones.iter().map(|zone| ZoneRow {
        id: zone.id.to_string(),
        name: seen.live.documents.zone(&zone.id).to_owned(),
        allowed_s: zone.gap_s,
        longest_gap_s: zone.longest_gap().map(|gap| gap.length_ms() / 1000),
        last_seen: zone.last_look().map(|look| rfc3339(look.written.when.at_ms)),
    });
    let observations = seen.state.open_observations().map(|open| ObservationRow {
        line: open.written.line.to_string(),
        class: codes::value(open.class),
        says: open.class.say(reader.lang),
        zone: open.zone.as_ref().map(ToString::to_string),
        at: rfc3339(open.written.when.at_ms),
        open_s: open.open_ms / 1000,
        marked_fixed: open.marked_fixed.is_some(),
    });
    let book = app.book();
    let row = crate::tonight::row::row(&seen.id, &seen.live, &book, &reader);
    Ok(Json(OneWatch {
        zones: zones.collect(),
        observations: observations.collect(),
        lines: seen.fold.lines().count(),
        watch: watches::of(&seen.id, &seen.live, &book, &reader, &row),
    }))
}

/// The record of one watch, oldest first
#[utoipa::path(get, operation_id = "lines", path = "/api/watches/{watch}/lines", tag = "watches", params(("watch" = String, Path, description = "Its id")),
    responses((status = 200, body = Vec<LineRow>), (status = 401, description = "No account and no token"), (status = 404, description = "No such watch")))]
pub(crate) async fn lines(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Json<Vec<LineRow>>, Problem> {
    let seen = seen(&app, &id, &reader).await?;
    Ok(Json(rows(&app, &reader, &seen)))
}

/// The same as CSV
#[utoipa::path(get, operation_id = "lines_csv", path = "/api/watches/{watch}/lines.csv", tag = "watches", params(("watch" = String, Path, description = "Its id")),
    responses((status = 200, body = String, content_type = "text/csv"), (status = 401, description = "No account and no token"), (status = 404, description = "No such watch")))]
pub(crate) async fn lines_csv(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Response, Problem> {
    let seen = seen(&app, &id, &reader).await?;
    let head = ["id", "kind", "at", "written", "who", "says", "words"];
    let mut table = vec![head.map(str::to_owned).to_vec()];
    let rows = rows(&app, &reader, &seen).into_iter();
    table.extend(rows.map(|r| vec![r.id, r.kind, r.at, r.written, r.who, r.says, r.words]));
    Ok(table::file(&format!("{}.csv", seen.id), &table))
}

fn rows(app: &App, reader: &Reader, seen: &Seen) -> Vec<LineRow> {
    let entries = one_watch::entries(&app.book(), reader, seen);
    let row = |(kept, who, says): (&watch::Kept, String, String)| {
        let effective = seen.fold.effective(kept.id).map(|effective| effective.at_ms);
        let written_ms = kept.clk.recorded_ms();
        LineRow {
            id: kept.id.to_string(),
            kind: kept.said.kind().to_owned(),
            at: rfc3339(effective.unwrap_or(written_ms)),
            written: rfc3339(written_ms),
            who,
            says,
            words: kept.words.as_ref().map(|words| words.text()).unwrap_or_default(),
        }
    };
    entries.into_iter().map(row).collect()
}

/// The watch of a path.
pub(super) async fn seen(app: &App, id: &str, reader: &Reader) -> Result<Seen, Problem> {
    let id = WatchId::new(id).map_err(|_| Problem::NotFound)?;
    one_watch::seen(app, &id, reader.now_ms).await
}
