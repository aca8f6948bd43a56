//! The picture of a page, as it is looked at: straightened if its marks were found. It is drawn anew,
//! so that no byte that somebody sent reaches a browser.

use crate::account::Caller;
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};

/// `GET /watch/{watch}/pages/{digest}/picture`
pub(crate) async fn get(
    State(app): State<App>,
    Path((watch, digest)): Path<(String, String)>,
    reader: Reader,
    caller: Caller,
) -> Result<Response, Problem> {
    let paper = super::read(&app, (&watch, &digest), &caller, reader.now_ms).await?;
    let drawn = tokio::task::spawn_blocking(move || {
        paper.reading.straightened.as_ref().unwrap_or(&paper.upright).to_png()
    });
    let png = drawn.await.map_err(|fault| Problem::Machine(fault.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "image/png")], png).into_response())
}
