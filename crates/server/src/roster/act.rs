//! *Said yes* and *Replace*.

use super::{Confirmed, Planned, planned};
use crate::account::Caller;
use crate::enrolment;
use crate::page::Reader;
use crate::people;
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use axum::Form;
use axum::extract::State;
use axum::response::Redirect;
use ledger::{LineId, PersonId};
use record::Scheduled;
use serde::Deserialize;

/// Which stretch, and who comes instead.
#[derive(Debug, Deserialize)]
pub(crate) struct Which {
    line: String,
    #[serde(default)]
    person: String,
}

/// `POST /roster/confirm`
pub(crate) async fn confirm(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(which): Form<Which>,
) -> Result<Redirect, Problem> {
    let shift = find(&app, &which, reader.now_ms)?;
    let confirmed = Confirmed { at_ms: reader.now_ms, by: caller.id.clone() };
    app.settings.put(&shift.line.to_string(), &confirmed).await?;
    people::changed(&app, "confirmed", &caller.id).await?;
    Ok(Redirect::to("/roster"))
}

/// `POST /roster/replace`: the old plan falls away and the new one stands, in one step.
pub(crate) async fn replace(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(which): Form<Which>,
) -> Result<Redirect, Problem> {
    let shift = find(&app, &which, reader.now_ms)?;
    let person = PersonId::new(which.person.as_str()).map_err(|_| Problem::NotFound)?;
    people::get(&app, &person).await?;
    let plan = |who: &PersonId, withdrawn| {
        let (from_ms, until_ms) = (shift.from_ms, shift.until_ms);
        let entry = Scheduled { person: who.clone(), from_ms, until_ms, withdrawn };
        Statement::with(entry, crate::opening::called(&app, who))
    };
    let lines = vec![plan(&shift.who, true), plan(&person, false)];
    app.scribe.write(&app, &shift.watch, &caller.id, lines).await?;
    enrolment::grant(&app, &person, &shift.watch).await?;
    crate::alerts::look(&app).await;
    Ok(Redirect::to("/roster"))
}

fn find(app: &App, which: &Which, now_ms: i64) -> Result<Planned, Problem> {
    let line: LineId = which.line.parse().map_err(|_| Problem::NotFound)?;
    planned(app, now_ms).into_iter().find(|shift| shift.line == line).ok_or(Problem::NotFound)
}
