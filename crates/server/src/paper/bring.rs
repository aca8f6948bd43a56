//! The form by which a picture comes in.

use crate::account::Caller;
use crate::one_watch::find;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Multipart, Path, State};
use axum::response::Redirect;
use ledger::Digest;
use maud::{Markup, html};
use sheet::GrayPicture;
use words::paper_in as says;

/// `GET /watch/{watch}/pages`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let lang = reader.lang;
    let field = Field::new("picture", says::picture(lang), says::picture_why(lang));
    let typed = seen.state.paper.typed.len() as i64;
    let handed_in = super::handed_in::list(&app, &seen, &reader).await?;
    let body = html! {
        p.lead { (says::lead(lang)) }
        (handed_in)
        @if reader.may("/watch/{watch}/pages") {
            form method="post" enctype="multipart/form-data" action={ "/watch/" (seen.id) "/pages" } {
                (field.around(html! {
                    input type="file" id="picture" name="picture" required
                        accept="image/jpeg,image/png,image/webp" aria-describedby="picture-why";
                }))
                div.submit { button.main { (says::send(lang)) } }
            }
        }
        p.soft {
            @if typed == 0 { (says::typed_none(lang)) } @else { (says::typed_so_far(lang, typed)) }
        }
        p { a href={ "/watch/" (seen.id) } { (says::back(lang)) } }
    };
    let title = says::title(lang, seen.live.documents.name());
    Ok(frame(&reader, &title, Place::Watches, None, body))
}

/// `POST /watch/{watch}/pages`: the picture is kept before anything is read from it.
pub(crate) async fn bring(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    mut form: Multipart,
) -> Result<Redirect, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms).await?;
    let damaged = |fault: axum::extract::multipart::MultipartError| Problem::Bad(fault.to_string());
    let mut bytes = Vec::new();
    while let Some(field) = form.next_field().await.map_err(damaged)? {
        if field.name() == Some("picture") {
            bytes = field.bytes().await.map_err(damaged)?.to_vec();
        }
    }
    if bytes.is_empty() {
        return Err(Problem::Bad(says::no_picture(reader.lang).to_owned()));
    }
    let checked = tokio::task::spawn_blocking(move || {
        GrayPicture::decode(&bytes).map(|_| bytes).map_err(|fault| Problem::Bad(fault.to_string()))
    });
    let bytes = checked.await.map_err(|fault| Problem::Machine(fault.to_string()))??;
    let digest = Digest::of(&bytes);
    app.store.blobs().put(digest, bytes).await?;
    Ok(Redirect::to(&format!("/watch/{}/pages/{digest}", seen.id)))
}
