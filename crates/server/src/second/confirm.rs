//! Somebody confirms, and it is done; or it is withdrawn.

use super::{What, erase, is_server, take};
use crate::account::Caller;
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use crate::{people, shelf};
use axum::extract::{Path, State};
use axum::response::Redirect;
use words::second;

/// `POST /second/{act}/confirm`
pub(crate) async fn confirm(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let lang = reader.lang;
    let act = app.book().acts.get(&id).cloned().ok_or(Problem::NotFound)?;
    if !act.may_confirm(&caller.id, reader.now_ms) {
        return Err(Problem::Bad(second::another_must(lang).to_owned()));
    }
    if let What::Erase { watch, .. } = &act.what {
        // A hold that was set meanwhile, by an emergency perhaps, stands above what was asked before.
        shelf::bring_back(&app, watch).await?;
        let state = app.book().watch(watch).and_then(|live| live.about(reader.now_ms));
        let held = state.map(|state| state.is_held());
        if held.unwrap_or(true) {
            return Err(Problem::Bad(second::held(lang).to_owned()));
        }
    }
    // A restoration is passed over by two people, and the server is none.
    if is_server(&act.by) {
        first_has_seen(&app, &id, &caller).await?;
        return Ok(Redirect::to("/second"));
    }
    let act = take(&app, &id).await?;
    people::changed(&app, &act.code("confirmed"), &caller.id).await?;
    let second = (act.by != caller.id).then_some(&caller.id);
    match &act.what {
        What::Erase { watch, line } => erase::erase(&app, watch, *line, &act.by, second).await?,
        What::RenewKey => crate::renewing::renew(&app).await?,
        What::Restored => {}
    }
    Ok(Redirect::to("/second"))
}

/// The first who passes over a restoration becomes the one who asked: another must follow.
async fn first_has_seen(app: &App, id: &str, caller: &Caller) -> Result<(), Problem> {
    let act = take(app, id).await?;
    let (by, asked_ms) = (caller.id.clone(), app.clock.now_ms());
    let seen = super::Act { by, asked_ms, ..act };
    super::keep(app, id, seen).await
}

/// `POST /second/{act}/withdraw`: by whoever may confirm. That a server was restored cannot be taken
/// back.
pub(crate) async fn withdraw(
    State(app): State<App>,
    Path(id): Path<String>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let act = app.book().acts.get(&id).cloned().ok_or(Problem::NotFound)?;
    if act.what == What::Restored {
        return Err(Problem::Forbidden);
    }
    let act = take(&app, &id).await?;
    people::changed(&app, &act.code("withdrawn"), &caller.id).await?;
    Ok(Redirect::to("/second"))
}
