//! Whoever comes with a link, found before the route runs.

use super::Link;
use crate::problem::Problem;
use crate::roles::Rule;
use crate::secret;
use crate::server::App;

/// Somebody with a link.
#[derive(Debug, Clone)]
pub(crate) struct Guest {
    /// The token, for the forms of the page.
    pub(crate) token: String,
    /// The link's key in the settings.
    pub(crate) key: String,
    pub(crate) link: Link,
}

impl Guest {
    /// The guest of a request to `/view/{token}…`. A link that never was, has run out or was revoked
    /// answers the same: nobody learns which.
    pub(crate) async fn of(app: &App, rule: &Rule, path: &str) -> Result<Guest, Problem> {
        let token = path.split('/').nth(2).unwrap_or_default().to_owned();
        let key = secret::token_digest(&token).to_string();
        app.limits.enrol(&key)?;
        let link = app.settings.get::<Link>(&key).await?;
        let link = link.filter(|link| link.lasts(app.clock.now_ms()));
        let link = link.ok_or(Problem::LinkOver)?;
        if !rule.allows(link.role) {
            return Err(Problem::Forbidden);
        }
        Ok(Guest { token, key, link })
    }
}
