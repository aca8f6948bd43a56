//! A phone's file comes in at the desk: what waited on a phone that could not send it any more. Every line is checked
//! with the key of the phone that wrote it, as if that phone had sent it, whoever brings the file; who did is an entry.

mod tally;
mod told;

use crate::account::Caller;
use crate::one_watch::find;
use crate::page::form::Field;
use crate::page::upload::Upload;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use crate::shelf;
use crate::sync::{Bringer, take};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use ledger::{Digest, WatchId};
use maud::{Markup, html};
use phone::file::{self, Row};
use phone::sync::SentLine;
use tally::Tally;
use told::Told;
use words::phone_file as says;

/// `GET /watch/{watch}/phone-file`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    Ok(page(&reader, &seen.id, html! {}))
}

/// `POST /watch/{watch}/phone-file`: what was sent before, or by the phone itself, is there only once.
pub(crate) async fn bring(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    upload: Upload,
) -> Result<Response, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let mut told = Told::default();
    let mut others = Vec::new();
    for (name, bytes) in upload.files {
        let rows = file::read(&String::from_utf8_lossy(&bytes));
        match rows.iter().any(|row| row.sent.is_some()) {
            true => {
                let mut tally = Tally::new(&bytes, &seen.id);
                take_lines(&app, rows, &mut told, &mut tally).await?;
                tally.write(&app, &caller.id).await?;
            }
            false => others.push((name, bytes)),
        }
    }
    // A picture is known by the lines that name it, which may have come in just now.
    for (name, bytes) in others {
        take_picture(&app, name, bytes, &mut told).await?;
    }
    if told.is_empty() {
        let wrong = html! { p.fault role="alert" { (says::not_ours(reader.lang, file::NAME)) } };
        let page = page(&reader, &seen.id, wrong);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    for watch in told.left_watches() {
        shelf::bring_back(&app, &watch).await?;
    }
    Ok(page(&reader, &seen.id, told.page(&app, &reader)).into_response())
}

/// Takes the rows of a file in, chains in order.
async fn take_lines(
    app: &App,
    rows: Vec<Row>,
    told: &mut Told,
    tally: &mut Tally,
) -> Result<(), Problem> {
    let (mut numbers, mut lines): (Vec<usize>, Vec<SentLine>) = Default::default();
    for row in rows {
        match row.sent {
            Some(sent) => {
                numbers.push(row.number);
                lines.push(sent);
            }
            None => {
                told.unread(row.number);
                tally.unread();
            }
        }
    }
    let judged = take(app, Bringer::Desk, &lines).await?;
    for ((number, sent), judged) in numbers.into_iter().zip(&lines).zip(judged) {
        tally.add(app, sent, &judged);
        told.add(number, sent, judged.outcome);
    }
    Ok(())
}

/// Keeps a picture that a line names, unless it was erased.
async fn take_picture(
    app: &App,
    name: String,
    bytes: Vec<u8>,
    told: &mut Told,
) -> Result<(), Problem> {
    let blob = Digest::of(&bytes);
    let wanted = app.book().is_named(blob) && !app.book().is_erased(blob);
    if !wanted {
        told.no_line_names(name);
        return Ok(());
    }
    app.store.blobs().put(blob, bytes).await?;
    told.picture();
    Ok(())
}

fn page(reader: &Reader, watch: &WatchId, said: Markup) -> Markup {
    let lang = reader.lang;
    let why = says::file_why(lang, file::NAME);
    let field = Field::new("file", says::file(lang), &why);
    let body = html! {
        (said)
        p.lead { (says::lead(lang)) }
        form method="post" enctype="multipart/form-data" action={ "/watch/" (watch) "/phone-file" } {
            (field.around(html! {
                input type="file" id="file" name="file" multiple required aria-describedby="file-why";
            }))
            div.submit { button.main { (says::send(lang)) } }
        }
        p { a href={ "/watch/" (watch) } { (words::paper_in::back(lang)) } }
    };
    frame(reader, says::title(lang), Place::Watches, None, body)
}
