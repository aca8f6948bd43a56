//! Signing out.

use crate::account::{Caller, session};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};

/// `POST /sign-out`
pub(crate) async fn sign_out(State(app): State<App>, caller: Caller) -> Result<Response, Problem> {
    let cookie = session::end(&app, caller.session).await?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/sign-in")).into_response())
}
