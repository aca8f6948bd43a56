//! Instructions of a site, by language, a new version each time. Watches that run get them as a line.

use super::site::{Sheet, Site};
use crate::account::Caller;
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::Redirect;
use ledger::WatchId;
use record::documents::{Document, Instructions, VERSION};
use record::{InstructionsSet, Words};
use serde::Deserialize;
use words::{Lang, desk};

/// The form.
#[derive(Debug, Deserialize)]
pub(crate) struct Given {
    language: Lang,
    lines: String,
}

/// `POST /sites/{site}/instructions`
pub(crate) async fn set(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: crate::page::Reader,
    caller: Caller,
    Form(given): Form<Given>,
) -> Result<Redirect, Problem> {
    let mut site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let lines = Words::from_text(&given.lines).words;
    if lines.is_empty() {
        return Err(Problem::Bad(desk::needed(reader.lang).to_owned()));
    }
    let language = given.language.tag().to_owned();
    let before = site.instructions.iter().find(|sheet| sheet.language == language);
    let version = before.map_or(0, |sheet| sheet.version) + 1;
    site.instructions.retain(|sheet| sheet.language != language);
    let sheet = Sheet { language: language.clone(), version, lines: lines.clone() };
    site.instructions.insert(0, sheet);
    app.settings.put(&id, &site).await?;
    people::changed(&app, "instructions", &caller.id).await?;
    let document = Instructions { v: VERSION, language: language.clone(), lines };
    let digest = document.digest();
    app.store.blobs().put(digest, document.to_bytes()).await?;
    for (watch, version) in running(&app, &id, reader.now_ms) {
        let language = language.clone();
        let entry = InstructionsSet { instructions: digest, version: version + 1, language };
        app.scribe.write(&app, &watch, &caller.id, vec![entry.into()]).await?;
    }
    Ok(Redirect::to(&format!("/sites/{id}")))
}

/// Watches of the site that are not over, with the version that their guards have.
fn running(app: &App, site: &str, now_ms: i64) -> Vec<(WatchId, u32)> {
    let book = app.book();
    let here = book.watches().filter(|(_, live)| {
        !live.standing.is_over(now_ms) && live.site.as_ref().is_some_and(|at| at.as_str() == site)
    });
    here.filter_map(|(id, live)| {
        let state = live.about(now_ms)?;
        Some((id.clone(), state.instructions.as_ref().map_or(0, |set| set.set.version)))
    })
    .collect()
}
