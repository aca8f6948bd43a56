//! Writes the confirmed rows and typed lines as lines of the server's chain.

use super::lines::{Fields, Typing};
use crate::account::Caller;
use crate::page::Reader;
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use crate::{people, seal};
use axum::Form;
use axum::extract::{Path, State};
use axum::response::Redirect;
use ledger::PersonId;
use record::Entry;
use watch::{Via, Watch};

/// `POST /watch/{watch}/pages/{digest}`
pub(crate) async fn write(
    State(app): State<App>,
    Path((watch, digest)): Path<(String, String)>,
    reader: Reader,
    caller: Caller,
    Form(sent): Form<Vec<(String, String)>>,
) -> Result<Redirect, Problem> {
    let mut fields = Fields::new();
    for (name, value) in sent {
        fields.entry(name).or_default().push(value);
    }
    let paper = super::read(&app, (&watch, &digest), &caller, reader.now_ms).await?;
    let writer = fields.get("writer").and_then(|values| values.first()).cloned();
    let writer = PersonId::new(writer.unwrap_or_default()).map_err(|_| Problem::NotFound)?;
    people::get(&app, &writer).await?;
    let now_ms = reader.now_ms;
    let typing = Typing { paper: &paper, writer, lang: reader.lang, now_ms };
    let mut statements = typing.ticks(&fields).map_err(Problem::Bad)?;
    statements.extend(typing.lines(&fields).map_err(Problem::Bad)?);
    let id = &paper.seen.id;
    // A form that is sent twice writes once: what stands there already is left out under the lock.
    let decide = || {
        let book = app.book();
        let held = book.watch(id).and_then(|live| live.fold.as_ref());
        statements.retain(|statement| held.is_none_or(|held| !stands(held, statement)));
        statements
    };
    let lines = app.scribe.write_if(&app, id, &caller.id, decide).await?;
    if !lines.is_empty() && paper.seen.live.standing.released_ms.is_some() {
        seal::seal(&app, id).await?;
    }
    crate::alerts::look(&app).await;
    Ok(Redirect::to(&format!("/watch/{id}/pages/{}?written={}", paper.digest, lines.len())))
}

/// Whether the same statement of the same writer for the same time was typed from paper already.
fn stands(held: &Watch, statement: &Statement) -> bool {
    let Entry::Transcribed(body) = &statement.entry else { return false };
    held.lines().any(|kept| {
        kept.via == Via::Paper
            && kept.who == body.writer
            && kept.stated_ms == Some(body.at_ms)
            && kept.said.kind() == body.states
            && kept.said.to_body() == body.body
            && kept.words.clone().unwrap_or_default() == statement.words
    })
}
