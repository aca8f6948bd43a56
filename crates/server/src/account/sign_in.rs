//! Signing in.

use crate::account::login::{self, Login};
use crate::account::{password, session};
use crate::assets::address;
use crate::doors::Peer;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{ConnectInfo, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use axum::{Extension, Form};
use maud::{Markup, html};
use serde::Deserialize;
use words::{account, desk};

/// The form.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct SignIn {
    login: String,
    password: String,
}

/// `GET /sign-in`
pub(crate) async fn show(reader: Reader) -> Markup {
    page(&reader, &SignIn::default(), None)
}

/// `POST /sign-in`
pub(crate) async fn sign_in(
    State(app): State<App>,
    reader: Reader,
    peer: Option<Extension<ConnectInfo<Peer>>>,
    Form(form): Form<SignIn>,
) -> Result<Response, Problem> {
    // Behind a proxy every request comes from the proxy: there the limit by account alone holds.
    if let Some(Extension(ConnectInfo(Peer(address)))) = peer
        && app.options.proxy.is_none()
    {
        app.limits.address(address)?;
    }
    let key = login::key(&form.login);
    app.limits.sign_in(&key)?;
    let login = app.settings.get::<Login>(&key).await?;
    let hash = login.as_ref().map(|login| login.hash.clone());
    let fits = form.password.chars().count() <= password::LENGTH_MAX
        && password::matches(form.password.clone(), hash).await?;
    let Some(login) = login.filter(|_| fits) else {
        tracing::info!("a sign-in was refused");
        return Ok(page(&reader, &form, Some(desk::sign_in_wrong(reader.lang))).into_response());
    };
    let cookie = session::begin(&app, login.person).await?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response())
}

fn page(reader: &Reader, form: &SignIn, fault: Option<&str>) -> Markup {
    let lang = reader.lang;
    let body = html! {
        form method="post" action="/sign-in" {
            (Field::new("login", desk::sign_in_name(lang), desk::sign_in_name_why(lang))
                .fault(fault).text("text", &form.login, true))
            (Field::new("password", desk::password(lang), desk::password_why(lang))
                .text("password", "", true))
            div.submit { button.main { (desk::sign_in(lang)) } }
        }
        // Uncovered by passkey.js where the browser knows how.
        p #passkey hidden data-does="sign-in" data-refused=(account::passkey_refused(lang))
            data-failed=(account::passkey_failed(lang)) {
            button type="button" { (account::passkey_sign_in(lang)) }
            " " span role="status" {}
        }
        script src=(address("passkey.js")) defer {}
    };
    frame(reader, desk::sign_in(lang), Place::None, None, body)
}
