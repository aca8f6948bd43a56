//! What a client states by a link: that a hazard is put right, and that the day was read.

use super::Guest;
use crate::one_watch;
use crate::page::Reader;
use crate::photo;
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use axum::extract::{Multipart, State};
use axum::response::Redirect;
use axum::{Extension, Form};
use ledger::{Digest, LineId};
use record::{Countersigned, MarkedFixed, Photo, ReviewOf, Words};
use serde::Deserialize;
use words::links;

/// `POST /view/{token}/fixed`: the guard still has to look.
pub(crate) async fn fixed(
    State(app): State<App>,
    reader: Reader,
    Extension(guest): Extension<Guest>,
    mut form: Multipart,
) -> Result<Redirect, Problem> {
    let seen = one_watch::seen(&app, &guest.link.watch, reader.now_ms).await?;
    let (mut of, mut picture) = (None, None);
    while let Some(field) = form.next_field().await.map_err(bad)? {
        match field.name() {
            Some("of") => of = field.text().await.map_err(bad)?.parse::<LineId>().ok(),
            Some("photo") => {
                let bytes = field.bytes().await.map_err(bad)?;
                picture = Some(bytes).filter(|bytes| !bytes.is_empty());
            }
            _ => {}
        }
    }
    let open = seen.state.open_observations().find(|o| Some(o.written.line) == of);
    let of = open.ok_or(Problem::NotFound)?.written.line;
    let mut statements = Vec::new();
    let mut photo = None;
    if let Some(bytes) = picture {
        let mime =
            photo::check(&bytes).map_err(|fault| Problem::Bad(photo::says(reader.lang, fault)))?;
        let (blob, len) = (Digest::of(&bytes), bytes.len() as u64);
        if app.book().is_erased(blob) {
            return Err(Problem::Bad(links::picture_erased(reader.lang).to_owned()));
        }
        app.store.blobs().put(blob, bytes.to_vec()).await?;
        photo = Some(blob);
        statements.push(Photo { of: Some(of), blob, len, mime: mime.to_owned() }.into());
    }
    let words = Words::from_text(&guest.link.whom);
    statements.push(Statement::with(MarkedFixed { of, photo }, words));
    app.scribe.write(&app, &seen.id, &guest.link.person, statements).await?;
    Ok(back(&guest))
}

/// A signature by name.
#[derive(Debug, Deserialize)]
pub(crate) struct Signed {
    name: String,
}

/// `POST /view/{token}/countersign`
pub(crate) async fn countersign(
    State(app): State<App>,
    reader: Reader,
    Extension(guest): Extension<Guest>,
    Form(form): Form<Signed>,
) -> Result<Redirect, Problem> {
    let name = form.name.trim();
    if name.is_empty() || name.chars().count() > 100 {
        return Err(Problem::Bad(links::sign_empty(reader.lang).to_owned()));
    }
    let entry = Countersigned { of: ReviewOf::Day, to_ms: reader.now_ms, signature: None };
    let statement = Statement::with(entry, Words::from_text(name));
    let link = &guest.link;
    app.scribe.write(&app, &link.watch, &link.person, vec![statement]).await?;
    Ok(back(&guest))
}

fn back(guest: &Guest) -> Redirect {
    Redirect::to(&format!("/view/{}", guest.token))
}

fn bad(error: axum::extract::multipart::MultipartError) -> Problem {
    Problem::Bad(error.body_text())
}
