//! A one-time link with which a person chooses a sign-in name and password.

use super::get;
use crate::account::Caller;
use crate::account::begin::{self, Invite};
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use ledger::PersonId;
use maud::{Markup, html};
use record::Role;
use words::desk;

/// `POST /people/{person}/invite`: shows the link once.
pub(crate) async fn invite(
    State(app): State<App>,
    Path(person): Path<PersonId>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let found = get(&app, &person).await?;
    // A new password for a proprietor would be a way around the proprietor.
    if found.role == Role::Proprietor && caller.role != Role::Proprietor {
        return Err(Problem::Forbidden);
    }
    let link = begin::make_link(&app, Some(person.clone())).await?;
    super::changed(&app, "invite", &caller.id).await?;
    let hours = Invite::LASTS_MS / 3_600_000;
    let body = html! {
        p.lead { (desk::invite_once(lang, hours, &found.name)) }
        p.link { (link) }
        p { a href={ "/people/" (person) } { (desk::back_to(lang, &found.name)) } }
    };
    Ok(frame(&reader, desk::invite(lang), Place::People, None, body))
}
