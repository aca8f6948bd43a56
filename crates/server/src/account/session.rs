//! Sessions: an opaque token in a cookie, its digest in the settings.

use crate::App;
use crate::problem::Problem;
use crate::secret;
use crate::settings::{Kept, SESSIONS};
use axum::http::{HeaderMap, HeaderValue, header};
use ledger::{Digest, PersonId};
use serde::{Deserialize, Serialize};

/// A session ends this long after signing in, ms: a night shift and its paperwork.
pub(crate) const LASTS_MS: i64 = 16 * 3_600_000;

/// Who is signed in, until when.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Session {
    pub(crate) person: PersonId,
    pub(crate) until_ms: i64,
}

impl Kept for Session {
    const COLLECTION: &'static str = SESSIONS;
}

/// Begins a session and returns the cookie to set.
pub(crate) async fn begin(app: &App, person: PersonId) -> Result<HeaderValue, Problem> {
    let token = secret::token();
    let session = Session { person, until_ms: app.clock.now_ms() + LASTS_MS };
    app.settings.put(&secret::token_digest(&token).to_string(), &session).await?;
    Ok(cookie(app, &token, LASTS_MS / 1000))
}

/// The session of a request, if its cookie names one that still lasts.
pub(crate) async fn of(
    app: &App,
    headers: &HeaderMap,
) -> Result<Option<(Digest, Session)>, Problem> {
    let Some(token) = cookie_value(headers, name(app)) else { return Ok(None) };
    let digest = secret::token_digest(token);
    let session = app.settings.get::<Session>(&digest.to_string()).await?;
    Ok(session.filter(|s| s.until_ms > app.clock.now_ms()).map(|session| (digest, session)))
}

/// Ends a session and returns the cookie that clears the browser's.
pub(crate) async fn end(app: &App, session: Digest) -> Result<HeaderValue, Problem> {
    app.settings.remove::<Session>(&session.to_string()).await?;
    Ok(cookie(app, "", 0))
}

fn cookie(app: &App, token: &str, lasts_s: i64) -> HeaderValue {
    let name = name(app);
    let secure = if app.site.secure { "; Secure" } else { "" };
    let text =
        format!("{name}={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age={lasts_s}{secure}");
    HeaderValue::from_str(&text).expect("a token is plain ASCII")
}

/// Browsers accept the `__Host-` prefix only over TLS; on loopback the plain name stands in.
fn name(app: &App) -> &'static str {
    if app.site.secure { "__Host-session" } else { "session" }
}

/// The value of a cookie.
pub(crate) fn cookie_value<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .find_map(|pair| pair.trim().strip_prefix(name)?.strip_prefix('='))
}
