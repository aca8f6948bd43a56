//! What the desk states on a watch: each form becomes lines of the server's chain.

use super::{Seen, find};
use crate::account::Caller;
use crate::page::{Reader, codes, time};
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::seal;
use crate::server::App;
use crate::{enrolment, people};
use axum::Form;
use axum::extract::{Path, State};
use axum::response::Redirect;
use ledger::{LineId, PersonId};
use record::{
    Acknowledged, Answered, Communication, Means, Party, ReleasedBy, Scheduled, WatchReleased,
    Words,
};
use serde::Deserialize;
use words::desk;

/// `POST /watch/{watch}/taken`: somebody has taken every alert that lasts.
pub(crate) async fn taken(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let seen = find(&app, &id, &caller, reader.now_ms)?;
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

/// A communication of the desk.
#[derive(Debug, Deserialize)]
pub(crate) struct Told {
    party: String,
    means: String,
    reached: bool,
    #[serde(default)]
    words: String,
}

/// `POST /watch/{watch}/told`
pub(crate) async fn told(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Told>,
) -> Result<Redirect, Problem> {
    let seen = open(&app, &id, &caller, &reader)?;
    let wrong = || Problem::Bad(desk::needed(reader.lang).to_owned());
    let entry = Communication {
        party: codes::read::<Party>(&form.party).ok_or_else(wrong)?,
        means: codes::read::<Means>(&form.means).ok_or_else(wrong)?,
        of: None,
        at_ms: None,
        reached: form.reached,
    };
    let statement = Statement::with(entry, Words::from_text(&form.words));
    write(&app, &seen, &caller, vec![statement]).await
}

/// An answer to a guard.
#[derive(Debug, Deserialize)]
pub(crate) struct Answer {
    of: String,
    words: String,
}

/// `POST /watch/{watch}/answer`
pub(crate) async fn answer(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Answer>,
) -> Result<Redirect, Problem> {
    let seen = open(&app, &id, &caller, &reader)?;
    let of: LineId = form.of.parse().map_err(|_| Problem::NotFound)?;
    if !seen.state.questions.iter().any(|question| question.written.line == of) {
        return Err(Problem::NotFound);
    }
    let words = Words::from_text(&form.words);
    if words.is_empty() {
        return Err(Problem::Bad(desk::needed(reader.lang).to_owned()));
    }
    write(&app, &seen, &caller, vec![Statement::with(Answered { of }, words)]).await
}

/// A guard for a stretch.
#[derive(Debug, Deserialize)]
pub(crate) struct Planned {
    person: String,
    from: String,
    until: String,
}

/// `POST /watch/{watch}/guard`
pub(crate) async fn guard(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Planned>,
) -> Result<Redirect, Problem> {
    let seen = open(&app, &id, &caller, &reader)?;
    let person = PersonId::new(form.person).map_err(|_| Problem::NotFound)?;
    people::get(&app, &person).await?;
    let tz = seen.tz();
    let (from_ms, until_ms) = time::from_field(&form.from, &tz)
        .zip(time::from_field(&form.until, &tz))
        .filter(|(from_ms, until_ms)| from_ms < until_ms)
        .ok_or_else(|| Problem::Bad(desk::until_wrong(reader.lang).to_owned()))?;
    let entry = Scheduled { person: person.clone(), from_ms, until_ms, withdrawn: false };
    let statement = Statement::with(entry, crate::opening::called(&app, &person));
    let back = write(&app, &seen, &caller, vec![statement]).await?;
    enrolment::grant(&app, &person, &seen.id).await?;
    Ok(back)
}

/// The end of a watch.
#[derive(Debug, Deserialize)]
pub(crate) struct Ending {
    by: String,
    written: bool,
    #[serde(default)]
    words: String,
}

/// `POST /watch/{watch}/release`
pub(crate) async fn release(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Ending>,
) -> Result<Redirect, Problem> {
    let seen = open(&app, &id, &caller, &reader)?;
    let by = codes::read::<ReleasedBy>(&form.by).ok_or(Problem::NotFound)?;
    let at_ms = app.clock.now_ms();
    let entry = WatchReleased { by, at_ms, written: form.written, blob: None };
    let statement = Statement::with(entry, Words::from_text(&form.words));
    let back = write(&app, &seen, &caller, vec![statement]).await?;
    seal::seal(&app, &seen.id).await?;
    crate::delivery::plan(&app, &seen.id).await?;
    Ok(back)
}

/// A watch to which something may still be added.
fn open(app: &App, id: &str, caller: &Caller, reader: &Reader) -> Result<Seen, Problem> {
    let seen = find(app, id, caller, reader.now_ms)?;
    match seen.live.standing.released_ms {
        None => Ok(seen),
        Some(_) => Err(Problem::Bad(desk::nothing_to_add(reader.lang).to_owned())),
    }
}

async fn write(
    app: &App,
    seen: &Seen,
    caller: &Caller,
    statements: Vec<Statement>,
) -> Result<Redirect, Problem> {
    app.scribe.write(app, &seen.id, &caller.id, statements).await?;
    crate::alerts::look(app).await;
    Ok(Redirect::to(&format!("/watch/{}", seen.id)))
}
