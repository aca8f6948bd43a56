//! The desk's side: the links of a watch, made and revoked.

use super::Link;
use crate::account::Caller;
use crate::one_watch;
use crate::page::form::Field;
use crate::page::{Place, Reader, codes, frame};
use crate::people;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use record::Role;
use rules::say::Say;
use serde::Deserialize;
use words::{desk, links};

/// Who can be let in by a link.
const ROLES: [Role; 2] = [Role::Inspector, Role::Client];
/// A link lasts so long unless somebody says otherwise, hours (our own default).
const HOURS: u32 = 72;
/// … and at most so long.
const HOURS_MAX: u32 = 24 * 92;

/// The form.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct Wanted {
    role: String,
    whom: String,
    hours: String,
}

/// `GET /watch/{watch}/links`
pub(crate) async fn list(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let form = Wanted { hours: HOURS.to_string(), ..Wanted::default() };
    page(&app, &reader, &seen, &form, None).await
}

/// `POST /watch/{watch}/links`: makes one and shows it once.
pub(crate) async fn make(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Wanted>,
) -> Result<Response, Problem> {
    let lang = reader.lang;
    let seen = one_watch::find(&app, &id, &caller, reader.now_ms).await?;
    let role = codes::read(&form.role).filter(|role| ROLES.contains(role));
    let role = role.ok_or(Problem::Forbidden)?;
    let hours = form.hours.trim().parse::<u32>().ok().filter(|h| (1..=HOURS_MAX).contains(h));
    let Some(hours) = hours else {
        let fault = Some(links::hours_wrong(lang));
        return Ok(page(&app, &reader, &seen, &form, fault).await?.into_response());
    };
    let token = secret::token();
    let person = ledger::PersonId::new(secret::id("g")).expect("hex digits follow the form of ids");
    let whom: String = form.whom.trim().chars().take(100).collect();
    let link = Link {
        watch: seen.id.clone(),
        role,
        person,
        whom: ledger::canonical::nfc(&whom),
        by: caller.id.clone(),
        made_ms: reader.now_ms,
        until_ms: reader.now_ms + i64::from(hours) * 3_600_000,
        revoked: false,
        viewed_ms: None,
    };
    app.settings.add(&secret::token_digest(&token).to_string(), &link).await?;
    people::changed(&app, "link", &caller.id).await?;
    let url = format!("{}/view/{token}", app.public());
    let body = html! {
        p.lead { (links::made(lang, reader.when(link.until_ms))) }
        div.qr { (crate::enrolment::qr(&url, links::qr(lang))) }
        p.link { (url) }
        p { a href={ "/watch/" (seen.id) "/links" } { (links::title(lang)) } }
    };
    Ok(frame(&reader, links::title(lang), Place::Watches, None, body).into_response())
}

/// `POST /links/{link}/revoke`
pub(crate) async fn revoke(
    State(app): State<App>,
    Path(key): Path<String>,
    reader: Reader,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let link = app.settings.get::<Link>(&key).await?.ok_or(Problem::NotFound)?;
    one_watch::find(&app, link.watch.as_str(), &caller, reader.now_ms).await?;
    let back = format!("/watch/{}/links", link.watch);
    app.settings.put(&key, &Link { revoked: true, ..link }).await?;
    people::changed(&app, "link", &caller.id).await?;
    Ok(Redirect::to(&back))
}

async fn page(
    app: &App,
    reader: &Reader,
    seen: &one_watch::Seen,
    form: &Wanted,
    fault: Option<&str>,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let mut kept = app.settings.all::<Link>().await?;
    kept.retain(|(_, link)| link.watch == seen.id);
    kept.sort_by_key(|(_, link)| std::cmp::Reverse(link.made_ms));
    let roles = ROLES.map(|role| (codes::value(role), role.say(lang)));
    let body = html! {
        p.lead { (links::lead(lang)) }
        ul.kept {
            @for (key, link) in &kept {
                li {
                    strong { (link.role.say(lang)) @if !link.whom.is_empty() { ", " (link.whom) } }
                    div {
                        @if link.revoked { (links::revoked(lang)) }
                        @else if link.until_ms <= reader.now_ms { (links::over(lang)) }
                        @else { (links::until(lang, reader.when(link.until_ms))) }
                        " "
                        @match link.viewed_ms {
                            Some(at_ms) => (links::viewed(lang, reader.when(at_ms))),
                            None => (links::never_viewed(lang)),
                        }
                        @if link.lasts(reader.now_ms) && reader.may("/links/{link}/revoke") {
                            form method="post" action={ "/links/" (key) "/revoke" } {
                                button { (links::revoke(lang)) }
                            }
                        }
                    }
                }
            }
        }
        @if reader.may("/watch/{watch}/links") {
            h2 { (links::new(lang)) }
            form method="post" action={ "/watch/" (seen.id) "/links" } {
                (Field::new("role", links::role(lang), links::role_why(lang)).choice(roles, &form.role))
                (Field::new("whom", links::whom(lang), links::whom_why(lang)).text("text", &form.whom, false))
                (Field::new("hours", links::hours(lang), links::hours_why(lang)).fault(fault)
                    .number(&form.hours, 1, i64::from(HOURS_MAX)))
                div.submit { button.main { (links::make(lang)) } }
            }
        }
        p { a href={ "/watch/" (seen.id) } { (desk::to_watch(lang)) } }
    };
    Ok(frame(reader, links::title(lang), Place::Watches, None, body))
}
