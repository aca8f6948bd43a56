//! Adding a passkey to one's account, for whoever knows the password; and taking one away.

use super::{EACH_MAX, KeptPasskey, handle_of, key_of, unreadable};
use crate::account::login::Login;
use crate::account::{Caller, password};
use crate::page::Reader;
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Redirect;
use serde::Deserialize;
use webauthn_rs::prelude::RegisterPublicKeyCredential;
use words::{account, desk};

/// The longest name, characters.
const NAME_MAX: usize = 60;

/// What the page sends first.
#[derive(Debug, Deserialize)]
pub(crate) struct Asked {
    password: String,
}

/// `POST /passkey/new`: what the browser needs to make one.
pub(crate) async fn begin(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Json(asked): Json<Asked>,
) -> Result<Json<serde_json::Value>, Problem> {
    app.limits.sign_in(caller.id.as_str())?;
    let wrong = || Problem::Bad(account::old_wrong(reader.lang).to_owned());
    let logins = app.settings.all::<Login>().await?;
    let login = logins.into_iter().find(|(_, login)| login.person == caller.id);
    let (name, login) = login.ok_or(Problem::NotFound)?;
    let long = asked.password.chars().count() > password::LENGTH_MAX;
    if long || !password::matches(asked.password, Some(login.hash)).await? {
        return Err(wrong());
    }
    let own = own(&app, &caller).await?;
    if own.len() >= EACH_MAX {
        return Err(Problem::Bad(account::passkeys_many(reader.lang).to_owned()));
    }
    let known = own.iter().map(|(_, kept)| Ok(kept.read()?.cred_id().clone()));
    let known = known.collect::<Result<Vec<_>, Problem>>()?;
    let webauthn = app.passkeys.webauthn()?;
    let begun = webauthn.start_passkey_registration(
        handle_of(&caller.id),
        &name,
        &caller.name,
        Some(known),
    );
    let (challenge, state) = begun.map_err(|error| Problem::Machine(error.to_string()))?;
    app.passkeys.adding.keep(caller.session.to_string(), reader.now_ms, state)?;
    let mut challenge = serde_json::to_value(challenge).map_err(unreadable)?;
    // Only a key that the device finds by itself signs somebody in who typed no name.
    let selection = &mut challenge["publicKey"]["authenticatorSelection"];
    selection["residentKey"] = "required".into();
    selection["requireResidentKey"] = true.into();
    Ok(Json(challenge))
}

/// What the browser made.
#[derive(Debug, Deserialize)]
pub(crate) struct Made {
    name: String,
    credential: RegisterPublicKeyCredential,
}

/// `POST /passkey/add`
pub(crate) async fn add(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Json(made): Json<Made>,
) -> Result<StatusCode, Problem> {
    let clean: String = made.name.trim().chars().filter(|c| !c.is_control()).collect();
    let name: String = ledger::canonical::nfc(&clean).chars().take(NAME_MAX).collect();
    if name.is_empty() {
        return Err(Problem::Bad(desk::needed(reader.lang).to_owned()));
    }
    let failed = || Problem::Bad(account::passkey_failed(reader.lang).to_owned());
    let state = app.passkeys.adding.take(&caller.session.to_string(), reader.now_ms);
    let state = state.ok_or_else(failed)?;
    let webauthn = app.passkeys.webauthn()?;
    let passkey = webauthn.finish_passkey_registration(&made.credential, &state);
    let passkey = passkey.map_err(|error| {
        tracing::info!(%error, "a passkey was not accepted");
        failed()
    })?;
    let kept = KeptPasskey {
        person: caller.id.clone(),
        name,
        passkey: serde_json::to_string(&passkey).map_err(unreadable)?,
        made_ms: reader.now_ms,
        used_ms: None,
    };
    app.settings.add(&key_of(passkey.cred_id()), &kept).await?;
    people::changed(&app, "passkey", &caller.id).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// `POST /account/passkeys/{key}/remove`: one of one's own.
pub(crate) async fn remove(
    State(app): State<App>,
    Path(key): Path<String>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let kept = app.settings.get::<KeptPasskey>(&key).await?;
    kept.filter(|kept| kept.person == caller.id).ok_or(Problem::NotFound)?;
    app.settings.remove::<KeptPasskey>(&key).await?;
    people::changed(&app, "passkey_removed", &caller.id).await?;
    Ok(Redirect::to("/account"))
}

/// The caller's passkeys, oldest first.
pub(crate) async fn own(app: &App, caller: &Caller) -> Result<Vec<(String, KeptPasskey)>, Problem> {
    let mut own = app.settings.all::<KeptPasskey>().await?;
    own.retain(|(_, kept)| kept.person == caller.id);
    own.sort_by_key(|(_, kept)| kept.made_ms);
    Ok(own)
}
