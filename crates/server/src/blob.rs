//! Blobs: photos up, plans and documents down, each named by its SHA-256.

use crate::device::Device;
use crate::problem::Problem;
use crate::router::BodyBytes;
use crate::server::App;
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use ledger::Digest;
use store::StoreError;

/// `PUT /blob/{digest}`: kept, on the disk, before this answers. One that two persons have erased is not
/// taken in again, and the device is told so that it stops sending it.
pub(crate) async fn put(
    State(app): State<App>,
    Path(digest): Path<String>,
    Extension(Device(dev)): Extension<Device>,
    Extension(BodyBytes(bytes)): Extension<BodyBytes>,
) -> Result<Response, Problem> {
    let named = parse(&digest)?;
    // Whoever only knows the digest does not learn that it was erased.
    let found = Digest::of(&bytes);
    if found != named {
        return Err(StoreError::OtherDigest { named, found }.into());
    }
    if !app.book().is_erased(named) {
        app.store.blobs().put(named, bytes.to_vec()).await?;
        // Not before: a phone of which nothing can be taken in is not in touch, and its rounds are not called late.
        app.heard(dev);
        // It may have been erased while it was written.
        if !app.book().is_erased(named) {
            app.book_mut().brings_blob(dev, named);
            return Ok(StatusCode::NO_CONTENT.into_response());
        }
        app.store.blobs().erase(named).await?;
    }
    Ok(Json(serde_json::json!({ "is": "erased" })).into_response())
}

/// `GET` and `HEAD /blob/{digest}`, for a device that may see a watch in which a line names it: bytes as an attachment, so that no browser shows them as a page.
pub(crate) async fn get(
    State(app): State<App>,
    Path(digest): Path<String>,
    Extension(Device(dev)): Extension<Device>,
) -> Result<Response, Problem> {
    let named = parse(&digest)?;
    // What is not theirs answers as what is not there.
    if !app.book().may_read_blob(dev, named) {
        return Err(Problem::NotFound);
    }
    let bytes = app.store.blobs().get(named).await?.ok_or(Problem::NotFound)?;
    let headers = [
        (header::CONTENT_TYPE, "application/octet-stream"),
        (header::CONTENT_DISPOSITION, "attachment"),
        (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((headers, bytes).into_response())
}

fn parse(digest: &str) -> Result<Digest, Problem> {
    digest.parse().map_err(|_| Problem::Bad("a blob is named by 64 lower-case hex digits".into()))
}
