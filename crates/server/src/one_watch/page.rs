//! The page and its event stream.

use super::{Seen, dial, find, forms, lines, parts};
use crate::account::Caller;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use crate::stream::stream;
use axum::extract::{Path, State};
use axum::response::IntoResponse;
use ledger::WatchId;
use maud::{Markup, html};

/// `GET /watch/{watch}`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let body = html! {
        (living(&app, &reader, &seen))
        (forms::all(&app, &reader, &seen))
        (lines::table(&app.book(), &reader, &seen))
    };
    let path = format!("/watch/{id}/stream");
    Ok(frame(&reader, seen.live.documents.name(), Place::Watches, Some(&path), body))
}

/// `GET /watch/{watch}/stream`
pub(crate) async fn live(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<impl IntoResponse, Problem> {
    find(&app, &id, &caller, reader.now_ms).await?;
    let watch = WatchId::new(id.as_str()).map_err(|_| Problem::NotFound)?;
    let concerns = move |news: &crate::server::News| news.0.as_ref().is_none_or(|w| *w == watch);
    Ok(stream(app, reader, concerns, move |app, reader| {
        let (id, caller) = (id.clone(), caller.clone());
        async move {
            let seen = find(&app, &id, &caller, reader.now_ms).await?;
            let record = lines::table(&app.book(), &reader, &seen);
            Ok(html! { (living(&app, &reader, &seen)) (record) })
        }
    }))
}

/// What changes while one looks.
fn living(app: &App, reader: &Reader, seen: &Seen) -> Markup {
    let book = app.book();
    let findings = dial::findings(seen);
    html! {
        (parts::head(&book, reader, seen))
        section #picture .one { (dial::draw(reader, seen, &findings)) }
        (parts::open(&book, reader, seen, &findings))
    }
}
