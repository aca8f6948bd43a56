//! Service tokens: for programs that read. Only a digest is kept; the token is shown once.

use crate::account::Caller;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::people;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use crate::settings::Kept;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::Redirect;
use ledger::PersonId;
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use words::api;

/// By this a leaked token is recognised for what it is.
const PREFIX: &str = "rattlewatch_";
/// A token lasts so long, days (our own default).
const DAYS: i64 = 365;

/// A token as the settings keep it, by its digest.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Token {
    pub(crate) name: String,
    pub(crate) by: PersonId,
    pub(crate) made_ms: i64,
    pub(crate) until_ms: i64,
    #[serde(default)]
    pub(crate) revoked: bool,
}

impl Kept for Token {
    const COLLECTION: &'static str = "service_tokens";
}

/// A program that came with its token.
#[derive(Debug, Clone)]
pub(crate) struct Program {
    /// Under which id it stands in the record.
    pub(crate) id: PersonId,
    /// What the desk calls it.
    pub(crate) name: String,
}

/// The program of a request: none if it brings no token, a problem if it brings one that does not hold.
pub(crate) async fn of(app: &App, headers: &HeaderMap) -> Result<Option<Program>, Problem> {
    let Some(text) = headers.get(header::AUTHORIZATION).and_then(|value| value.to_str().ok())
    else {
        return Ok(None);
    };
    let token = text.strip_prefix("Bearer ").filter(|token| token.starts_with(PREFIX));
    let token = token.ok_or(Problem::SignIn)?;
    let key = secret::token_digest(token).to_string();
    app.limits.program(&key)?;
    let kept = app.settings.get::<Token>(&key).await?;
    let kept = kept.filter(|kept| !kept.revoked && kept.until_ms > app.clock.now_ms());
    let name = kept.ok_or(Problem::SignIn)?.name;
    // Of a digest of 192 random bits: nothing leads back to the token.
    let id = PersonId::new(format!("t-{}", &key[..16])).expect("hex digits make an id");
    Ok(Some(Program { id, name }))
}

/// `GET /tokens`
pub(crate) async fn list(State(app): State<App>, reader: Reader) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let mut kept = app.settings.all::<Token>().await?;
    kept.sort_by_key(|(_, token)| std::cmp::Reverse(token.made_ms));
    let body = html! {
        p.lead { (api::lead(lang)) " " a href="/api/openapi.json" { "openapi.json" } }
        ul.kept {
            @for (key, token) in &kept {
                li {
                    strong { (token.name) }
                    div {
                        @if token.revoked { (api::revoked(lang)) }
                        @else if token.until_ms <= reader.now_ms { (api::over(lang)) }
                        @else {
                            (api::until(lang, reader.when(token.until_ms)))
                            form method="post" action={ "/tokens/" (key) "/revoke" } {
                                button { (api::revoke(lang)) }
                            }
                        }
                    }
                }
            }
        }
        h2 { (api::new(lang)) }
        form method="post" action="/tokens" {
            (Field::new("name", api::name(lang), api::name_why(lang)).text("text", "", true))
            div.submit { button.main { (api::make(lang)) } }
        }
    };
    Ok(frame(&reader, api::title(lang), Place::People, None, body))
}

/// The form.
#[derive(Debug, Deserialize)]
pub(crate) struct Wanted {
    name: String,
}

/// `POST /tokens`: makes one and shows it once.
pub(crate) async fn make(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Wanted>,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let name: String = form.name.trim().chars().take(100).collect();
    if name.is_empty() {
        return Err(Problem::Bad(words::desk::needed(lang).to_owned()));
    }
    let text = format!("{PREFIX}{}", secret::token());
    let until_ms = reader.now_ms + DAYS * 24 * 3_600_000;
    let (by, made_ms) = (caller.id.clone(), reader.now_ms);
    let token = Token { name, by, made_ms, until_ms, revoked: false };
    app.settings.add(&secret::token_digest(&text).to_string(), &token).await?;
    people::changed(&app, "service_token", &caller.id).await?;
    let body = html! {
        p.lead { (api::made(lang, reader.when(until_ms))) }
        p.link { (text) }
        p { a href="/tokens" { (api::title(lang)) } }
    };
    Ok(frame(&reader, api::title(lang), Place::People, None, body))
}

/// `POST /tokens/{token}/revoke`
pub(crate) async fn revoke(
    State(app): State<App>,
    Path(key): Path<String>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let token = app.settings.get::<Token>(&key).await?.ok_or(Problem::NotFound)?;
    app.settings.put(&key, &Token { revoked: true, ..token }).await?;
    people::changed(&app, "service_token", &caller.id).await?;
    Ok(Redirect::to("/tokens"))
}
