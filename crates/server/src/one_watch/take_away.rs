//! What can be taken away: the bundle with everything, and the report.

use super::find;
use crate::account::Caller;
use crate::delivery::{self, Print};
use crate::export;
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// `GET /watch/{watch}/bundle`
pub(crate) async fn bundle(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Response, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let bytes = export::bundle_of(&app, &seen.id, &caller.id).await?;
    Ok(attachment(&format!("{}.zip", seen.id), "application/zip", bytes))
}

/// `GET /watch/{watch}/report`
pub(crate) async fn report(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Response, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let bytes = export::bundle_of(&app, &seen.id, &caller.id).await?;
    let pdf = delivery::print(&app, &bytes, Print { lang: reader.lang, report: None }).await?;
    Ok(attachment(&format!("{}.pdf", seen.id), "application/pdf", pdf))
}

/// File names are made of ids, never of words that somebody typed.
fn attachment(name: &str, kind: &'static str, bytes: Vec<u8>) -> Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    let headers =
        [(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, disposition)];
    (headers, bytes).into_response()
}
