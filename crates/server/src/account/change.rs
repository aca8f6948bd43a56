//! `POST /account/password`: a new password for whoever knows the old one. Every other session ends.

use crate::account::login::Login;
use crate::account::session::Session;
use crate::account::{Caller, own, password};
use crate::page::Reader;
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use words::account;

/// The form.
#[derive(Debug, Deserialize)]
pub(crate) struct Changed {
    password: String,
    new_password: String,
}

/// `POST /account/password`
pub(crate) async fn password(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<Changed>,
) -> Result<Response, Problem> {
    let lang = reader.lang;
    app.limits.sign_in(caller.id.as_str())?;
    let logins = app.settings.all::<Login>().await?;
    let own = logins.into_iter().find(|(_, login)| login.person == caller.id);
    let (key, login) = own.ok_or(Problem::NotFound)?;
    let long = form.password.chars().count() > password::LENGTH_MAX;
    let hash = Some(login.hash.clone());
    if long || !password::matches(form.password.clone(), hash).await? {
        let fault = Some(account::old_wrong(lang));
        return Ok(own::page(&app, &reader, &caller, fault, None).await?.into_response());
    }
    let house = app.house().name.clone();
    if let Some(fault) = password::fault(lang, &form.new_password, &[&key, &house]) {
        return Ok(own::page(&app, &reader, &caller, None, Some(fault)).await?.into_response());
    }
    let hash = password::hash(form.new_password).await?;
    app.settings.put(&key, &Login { hash, ..login }).await?;
    for (digest, session) in app.settings.all::<Session>().await? {
        if session.person == caller.id && digest != caller.session.to_string() {
            app.settings.remove::<Session>(&digest).await?;
        }
    }
    people::changed(&app, "password", &caller.id).await?;
    Ok(Redirect::to("/account").into_response())
}
