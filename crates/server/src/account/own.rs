//! The page *Your account*: who one is here, and which of one's browsers are told of alerts.

use crate::account::Caller;
use crate::account::login::Login;
use crate::account::passkeys::{self, KeptPasskey};
use crate::assets::address;
use crate::delivery::push::Subscription;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use maud::{Markup, html};
use rules::say::Say;
use words::{account, desk};

/// `GET /account`
pub(crate) async fn show(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
) -> Result<Markup, Problem> {
    page(&app, &reader, &caller, None, None).await
}

/// The page, with what was wrong with the passwords that were typed.
pub(super) async fn page(
    app: &App,
    reader: &Reader,
    caller: &Caller,
    old_fault: Option<&str>,
    new_fault: Option<&str>,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let all = app.settings.all::<Subscription>().await?;
    let own = all.iter().filter(|(_, kept)| kept.person.as_ref() == Some(&caller.id));
    let own: Vec<_> = own.collect();
    let keys = passkeys::own(app, caller).await?;
    let logins = app.settings.all::<Login>().await?;
    let login = logins.iter().find(|(_, login)| login.person == caller.id).map(|(name, _)| name);
    let body = html! {
        p.lead { (account::signed_in_as(lang, &caller.name, caller.role.say(lang))) }
        h2 { (account::messages(lang)) }
        p { (account::messages_why(lang)) }
        ul.kept {
            @for (key, kept) in &own {
                li {
                    p { (account::browser_since(lang, service(&kept.endpoint), reader.when(kept.since_ms))) }
                    form method="post" action="/push/stop" {
                        input type="hidden" name="key" value=(key);
                        button { (account::stop(lang)) }
                    }
                }
            }
        }
        @if reader.may_open("/second") { p { a href="/second" { (words::second::title(lang)) } } }
        @if reader.may("/tokens") { p { a href="/tokens" { (words::api::title(lang)) } } }
        // Uncovered by push.js where the browser knows how.
        p #push hidden data-worker=(address("push-worker.js"))
            data-refused=(account::refused(lang)) data-failed=(account::failed(lang)) {
            button type="button" { (account::allow(lang)) }
            " " span role="status" {}
        }
        noscript { p { (account::needs_script(lang)) } }
        script src=(address("push.js")) defer {}
        (passkeys(reader, &keys))
        h2 { (account::change(lang)) }
        form method="post" action="/account/password" {
            // For whatever keeps the passwords of this browser: it must know whose this one is.
            @if let Some(login) = login { input type="text" hidden readonly autocomplete="username" value=(login); }
            (Field::new("password", account::old(lang), account::old_why(lang))
                .fault(old_fault).text("password", "", true))
            (Field::new("new_password", desk::new_password(lang), desk::new_password_why(lang))
                .fault(new_fault).text("password", "", true))
            div.submit { button { (account::change(lang)) } }
        }
    };
    Ok(frame(reader, account::title(lang), Place::None, None, body))
}

/// The passkeys of this account, and the form that adds one.
fn passkeys(reader: &Reader, own: &[(String, KeptPasskey)]) -> Markup {
    let lang = reader.lang;
    html! {
        h2 { (account::passkeys(lang)) }
        p { (account::passkeys_why(lang)) }
        ul.kept {
            @for (key, kept) in own {
                li {
                    strong { (kept.name) }
                    div {
                        (account::passkey_made(lang, reader.when(kept.made_ms))) " "
                        @if let Some(at_ms) = kept.used_ms { (account::passkey_used(lang, reader.when(at_ms))) }
                        form method="post" action={ "/account/passkeys/" (key) "/remove" } {
                            button aria-label=(account::passkey_remove_one(lang, &kept.name)) {
                                (account::passkey_remove(lang))
                            }
                        }
                    }
                }
            }
        }
        // Uncovered by passkey.js where the browser knows how.
        form #passkey hidden data-does="add" data-refused=(account::passkey_not_made(lang))
            data-failed=(account::passkey_failed(lang)) {
            (Field::new("passkey_name", account::passkey_name(lang), account::passkey_name_why(lang))
                .text("text", "", true))
            (Field::new("passkey_password", desk::password(lang), account::passkey_password_why(lang))
                .text("password", "", true))
            div.submit { button { (account::passkey_add(lang)) } " " span role="status" {} }
        }
        noscript { p { (account::passkeys_script(lang)) } }
        script src=(address("passkey.js")) defer {}
    }
}

/// The push service, by which its owner may know the browser.
fn service(endpoint: &str) -> &str {
    endpoint.split('/').nth(2).unwrap_or_default()
}
