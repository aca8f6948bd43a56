//! A phone's file comes in at the desk: what waited on a phone that could not send it any more. Every line is checked
//! with the key of the phone that wrote it, as if that phone had sent it; who brings the file does not matter.

mod told;

use crate::account::Caller;
use crate::one_watch::find;
use crate::page::form::Field;
use crate::page::upload::Upload;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use crate::sync::{Bringer, take};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use ledger::WatchId;
use maud::{Markup, html};
use phone::file::{self, Row};
use phone::sync::SentLine;
use told::Told;
use words::phone_file as says;

/// `GET /watch/{watch}/phone-file`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms)?;
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
    let seen = find(&app, &id, &caller, reader.now_ms)?;
    let rows = upload.files.first().map(|(_, bytes)| file::read(&String::from_utf8_lossy(bytes)));
    let rows = rows.unwrap_or_default();
    if rows.iter().all(|row| row.sent.is_none()) {
        let wrong = html! { p.fault role="alert" { (says::not_ours(reader.lang, file::NAME)) } };
        let page = page(&reader, &seen.id, wrong);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let told = taken(&app, rows).await?;
    Ok(page(&reader, &seen.id, told.page(&app, &reader)).into_response())
}

/// Takes the rows in, chains in order, and says what became of each.
async fn taken(app: &App, rows: Vec<Row>) -> Result<Told, Problem> {
    let numbers = rows.iter().filter(|row| row.sent.is_some()).map(|row| row.number);
    let numbers: Vec<usize> = numbers.collect();
    let unread = rows.iter().filter(|row| row.sent.is_none()).map(|row| row.number).collect();
    let lines: Vec<SentLine> = rows.into_iter().filter_map(|row| row.sent).collect();
    let judged = take(app, Bringer::Desk, &lines).await?;
    let mut told = Told::of_unread(unread);
    for ((number, sent), judged) in numbers.into_iter().zip(&lines).zip(judged) {
        told.add(number, sent, judged.outcome);
    }
    Ok(told)
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
                input type="file" id="file" name="file" required aria-describedby="file-why";
            }))
            div.submit { button.main { (says::send(lang)) } }
        }
        p.soft { (says::photos(lang)) }
        p { a href={ "/watch/" (watch) } { (words::paper_in::back(lang)) } }
    };
    frame(reader, says::title(lang), Place::Watches, None, body)
}
