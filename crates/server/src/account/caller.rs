//! Who calls, found once per request before the route runs.

use crate::App;
use crate::account::session;
use crate::people::Person;
use crate::problem::Problem;
use axum::http::HeaderMap;
use ledger::{Digest, PersonId};
use record::Role;

/// Somebody signed in.
#[derive(Debug, Clone)]
pub(crate) struct Caller {
    pub(crate) id: PersonId,
    pub(crate) name: String,
    pub(crate) role: Role,
    pub(crate) sites: Vec<record::SiteId>,
    pub(crate) session: Digest,
}

/// The caller of a request; none if nobody is signed in or the person may no longer come in.
pub(crate) async fn of(app: &App, headers: &HeaderMap) -> Result<Option<Caller>, Problem> {
    let Some((digest, session)) = session::of(app, headers).await? else { return Ok(None) };
    let person = app.settings.get::<Person>(session.person.as_str()).await?;
    Ok(person.filter(|person| !person.left).map(|person| Caller {
        id: session.person,
        name: person.name,
        role: person.role,
        sites: person.sites,
        session: digest,
    }))
}
