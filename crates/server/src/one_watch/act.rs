//! *I have this*: somebody has taken every alert that lasts. What else the desk states is in `write`.

use super::find;
use crate::account::Caller;
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::response::Redirect;
use record::Acknowledged;

/// `POST /watch/{watch}/taken`: somebody has taken every alert that lasts.
pub(crate) async fn taken(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let decide = || {
        let book = app.book();
        let standing = book.watch(&seen.id).map(|live| &live.standing);
        let lasting = standing.map(|s| s.lasting(reader.now_ms)).unwrap_or_default();
        let open = lasting.into_iter().filter(|alert| alert.taken.is_none());
        open.map(|alert| Acknowledged { alert: alert.line }.into()).collect()
    };
    app.scribe.write_if(&app, &seen.id, &caller.id, decide).await?;
    crate::alerts::look(&app).await;
    Ok(Redirect::to("/"))
}
