//! `GET /api/watches/{watch}/findings`: what the rules say about the watch as it is now.

use super::{one, rfc3339};
use crate::one_watch;
use crate::page::{Reader, codes};
use crate::problem::Problem;
use crate::server::App;
use axum::Json;
use axum::extract::{Path, State};
use rules::findings::{Judging, judge};
use serde::Serialize;
use utoipa::ToSchema;

/// A finding.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FindingRow {
    /// The rule's name.
    rule: String,
    /// `broken`, `unclear`, `look` or `kept`.
    verdict: String,
    zone: Option<String>,
    /// RFC 3339.
    from: Option<String>,
    to: Option<String>,
    /// How soon it was sealed, s.
    sealed_after_s: Option<i64>,
    /// The lines that it rests on.
    lines: Vec<String>,
    /// Where the demand comes from.
    source: String,
    /// In words, in the language asked for by `accept-language`.
    says: String,
}

/// What the rules say about a watch as it is now, most serious first
#[utoipa::path(get, operation_id = "findings", path = "/api/watches/{watch}/findings", tag = "watches", params(("watch" = String, Path, description = "Its id")),
    responses((status = 200, body = Vec<FindingRow>), (status = 401, description = "No account and no token"), (status = 404, description = "No such watch")))]
pub(crate) async fn list(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Json<Vec<FindingRow>>, Problem> {
    let seen = one::seen(&app, &id, &reader).await?;
    let terms = seen.live.documents.terms.as_ref();
    let judging = Judging { watch: &seen.fold, state: &seen.state, terms };
    let says = one_watch::says(&app.book(), &reader, &seen);
    let row = |finding: &rules::findings::Finding| {
        let reader = says.reader();
        FindingRow {
            rule: finding.rule().to_string(),
            verdict: codes::value(finding.verdict),
            zone: finding.zone.as_ref().map(ToString::to_string),
            from: finding.from_ms.map(rfc3339),
            to: finding.to_ms.map(rfc3339),
            sealed_after_s: finding.sealed_after_s,
            lines: finding.lines.iter().map(ToString::to_string).collect(),
            source: reader.source(&finding.source).to_string(),
            says: reader.finding(finding),
        }
    };
    Ok(Json(judge(&judging).iter().map(row).collect()))
}
