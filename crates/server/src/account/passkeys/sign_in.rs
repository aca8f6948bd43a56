//! Signing in with a passkey: no name is typed, so nobody learns from the answer who has an account.

use super::{KeptPasskey, handle_of, key_of, unreadable};
use crate::account::session;
use crate::doors::Peer;
use crate::page::Reader;
use crate::people::Person;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use axum::extract::{ConnectInfo, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use serde::Deserialize;
use webauthn_rs::prelude::PublicKeyCredential;
use words::account;

/// `POST /passkey/begin`: what the browser needs to ask for one.
pub(crate) async fn begin(
    State(app): State<App>,
    reader: Reader,
    peer: Option<Extension<ConnectInfo<Peer>>>,
) -> Result<Json<serde_json::Value>, Problem> {
    limit(&app, peer)?;
    let begun = app.passkeys.webauthn()?.start_discoverable_authentication();
    let (challenge, state) = begun.map_err(|error| Problem::Machine(error.to_string()))?;
    let id = secret::token();
    app.passkeys.signing.keep(id.clone(), reader.now_ms, state)?;
    let challenge = serde_json::to_value(challenge).map_err(unreadable)?;
    Ok(Json(serde_json::json!({ "id": id, "publicKey": challenge["publicKey"] })))
}

/// What the browser answers.
#[derive(Debug, Deserialize)]
pub(crate) struct Answer {
    id: String,
    credential: PublicKeyCredential,
}

/// `POST /passkey/sign-in`
pub(crate) async fn sign_in(
    State(app): State<App>,
    reader: Reader,
    peer: Option<Extension<ConnectInfo<Peer>>>,
    Json(answer): Json<Answer>,
) -> Result<Response, Problem> {
    limit(&app, peer)?;
    let refused = || {
        tracing::info!("a sign-in with a passkey was refused");
        Problem::Bad(account::passkey_refused(reader.lang).to_owned())
    };
    let state = app.passkeys.signing.take(&answer.id, reader.now_ms).ok_or_else(refused)?;
    let webauthn = app.passkeys.webauthn()?;
    let (handle, credential) =
        webauthn.identify_discoverable_authentication(&answer.credential).map_err(|_| refused())?;
    let key = key_of(credential);
    app.limits.sign_in(&key)?;
    let kept = app.settings.get::<KeptPasskey>(&key).await?.ok_or_else(refused)?;
    let mut passkey = kept.read()?;
    let checked = webauthn
        .finish_discoverable_authentication_v2(&answer.credential, state, &passkey)
        .map_err(|_| refused())?;
    let person = app.settings.get::<Person>(kept.person.as_str()).await?;
    let here = person.is_some_and(|person| !person.left) && handle == handle_of(&kept.person);
    if !here || !checked.user_verified() {
        return Err(refused());
    }
    passkey.update_credential(&checked);
    let passkey = serde_json::to_string(&passkey).map_err(unreadable)?;
    let person = kept.person.clone();
    let used = KeptPasskey { passkey, used_ms: Some(reader.now_ms), ..kept };
    app.settings.put(&key, &used).await?;
    let cookie = session::begin(&app, person).await?;
    Ok(([(header::SET_COOKIE, cookie)], StatusCode::NO_CONTENT).into_response())
}

/// Behind a proxy every request comes from the proxy: there the limit by passkey alone holds.
fn limit(app: &App, peer: Option<Extension<ConnectInfo<Peer>>>) -> Result<(), Problem> {
    match peer {
        Some(Extension(ConnectInfo(Peer(address)))) if app.options.proxy.is_none() => {
            app.limits.address(address)
        }
        _ => Ok(()),
    }
}
