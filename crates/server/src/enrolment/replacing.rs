//! Another phone for a guard in the middle of a shift: the old one is lost or dead. Until the new one is in
//! the old one counts; from then on the shift goes on there, and the old key is trusted no longer.

use super::{Enrolment, keep_new};
use crate::account::Caller;
use crate::one_watch;
use crate::page::Reader;
use crate::people;
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::Redirect;
use ledger::{DeviceId, PersonId, WatchId};
use record::{Enrolled, Revoked};
use serde::Deserialize;
use std::collections::BTreeSet;

/// Whose phone.
#[derive(Debug, Deserialize)]
pub(crate) struct Whose {
    person: PersonId,
}

/// `POST /watch/{watch}/phone`: makes the link for the new phone and shows it.
pub(crate) async fn replace(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(Whose { person }): Form<Whose>,
) -> Result<Redirect, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let role = people::get(&app, &person).await?.role;
    let on_duty = seen.live.standing.on_duty.iter().filter(|duty| duty.who == person);
    let replaces: Vec<DeviceId> = on_duty.map(|duty| duty.dev).collect();
    // Whoever is not on duty has no shift that could go on: their phone is let in as any other.
    if replaces.is_empty() {
        return Err(Problem::Bad(words::desk::replace_not_on_duty(reader.lang).to_owned()));
    }
    let enrolment = Enrolment {
        watch: Some(seen.id),
        replaces,
        ..Enrolment::new(&app, person, role, caller.id)
    };
    let digest = keep_new(&app, &enrolment).await?;
    Ok(Redirect::to(&format!("/enrolment/{digest}")))
}

/// What the phones that are replaced might see, so that nothing is missing on the new one; the outer none
/// if nothing is replaced, the inner: all.
pub(super) fn watches_before(
    app: &App,
    enrolment: &Enrolment,
) -> Option<Option<BTreeSet<WatchId>>> {
    let book = app.book();
    let old = enrolment.replaces.iter().filter_map(|dev| book.device(*dev));
    let grants: Vec<Option<BTreeSet<WatchId>>> = old.map(|known| known.watches.clone()).collect();
    if grants.is_empty() {
        return None;
    }
    let all: Option<Vec<BTreeSet<WatchId>>> = grants.into_iter().collect();
    Some(all.map(|grants| grants.into_iter().flatten().collect()))
}

/// Says in the record, for the house and for the watch, that the new phone is in and the old one is not.
pub(super) async fn take_over(
    app: &App,
    enrolment: &Enrolment,
    entry: &Enrolled,
    by: &PersonId,
) -> Result<(), Problem> {
    let Some(watch) = enrolment.watch.as_ref().filter(|_| !enrolment.replaces.is_empty()) else {
        return Ok(());
    };
    let trusted =
        |dev: &&DeviceId| app.book().device(**dev).is_some() && !app.scribe.is_ours(**dev);
    let old = enrolment.replaces.iter().filter(trusted);
    let revoked: Vec<Statement> =
        old.map(|dev| Revoked { device: *dev, by: by.clone() }.into()).collect();
    // The new one first: at no moment is the guard on duty without a phone that counts.
    let mut said: Vec<Statement> = vec![entry.clone().into()];
    said.extend(revoked.iter().cloned());
    app.scribe.write(app, watch, by, said).await?;
    app.scribe.write(app, &WatchId::org(), by, revoked).await?;
    app.book_mut().plan_look(watch, app.clock.now_ms());
    crate::alerts::look(app).await;
    Ok(())
}
