//! Who calls, found once per request before the route runs.

use crate::App;
use crate::account::session::{self, Session};
use crate::people::Person;
use crate::problem::Problem;
use axum::http::HeaderMap;
use ledger::{Digest, PersonId};
use record::{Role, SiteId};

/// Somebody signed in.
#[derive(Debug, Clone)]
pub(crate) struct Caller {
    pub(crate) id: PersonId,
    pub(crate) name: String,
    pub(crate) role: Role,
    pub(crate) sites: Vec<SiteId>,
    pub(crate) session: Digest,
}

impl Caller {
    /// Whether a site's watches are theirs to see: everybody's of the house, a client's only their own.
    /// A watch of which nobody knows the site is no client's.
    pub(crate) fn may_see(&self, site: Option<&SiteId>) -> bool {
        self.role != Role::Client || site.is_some_and(|site| self.sites.contains(site))
    }
}

/// As they are now: whoever signed out, left, or may see something else meanwhile is no longer the same.
pub(crate) async fn still(app: &App, caller: &Caller) -> bool {
    let Ok(Some(session)) = app.settings.get::<Session>(&caller.session.to_string()).await else {
        return false;
    };
    let lasts = session.person == caller.id && session.until_ms > app.clock.now_ms();
    let person = app.settings.get::<Person>(caller.id.as_str()).await;
    let same = |person: &Person| {
        !person.left && person.role == caller.role && person.sites == caller.sites
    };
    lasts && matches!(&person, Ok(Some(person)) if same(person))
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
