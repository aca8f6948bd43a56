//! Passkeys in a real browser with an authenticator that the WebDriver standard's extension makes: added on the
//! account page, used to sign in without a name, several for one person, taken away again; in both languages, at
//! the name `localhost`, since a passkey belongs to a name.

use crate::chrome::Window;
use crate::house::House;
use crate::sink::Sink;
use serde_json::json;

/// A device with a lock, and somebody who opens it (W3C Web Authentication, section 11.3).
async fn authenticator(window: &Window) -> anyhow::Result<String> {
    let cdp = window.driver.cdp();
    cdp.send_raw("WebAuthn.enable", json!({ "enableUI": false })).await?;
    let options = json!({ "options": {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": true,
        "hasUserVerification": true, "isUserVerified": true, "automaticPresenceSimulation": true,
    }});
    let made = cdp.send_raw("WebAuthn.addVirtualAuthenticator", options).await?;
    Ok(made["authenticatorId"].as_str().unwrap_or_default().to_owned())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_passkey_signs_somebody_in_and_can_be_taken_away() -> anyhow::Result<()> {
    let sink = Sink::start().await?;
    let house = House::start(&sink.url)?;
    let named = house.url.replace("127.0.0.1", "localhost");
    let window = Window::start(1280, 900, false).await?;
    let first = authenticator(&window).await?;
    window.begins(&house.begin_link.replace("127.0.0.1", "localhost")).await?;

    // Whoever does not know the password adds none.
    window.goto(&format!("{named}/account")).await?;
    window.fill("passkey_name", "Desk at the quay").await?;
    window.fill("passkey_password", "lanterns along the key").await?;
    window.press("#passkey button").await?;
    window.reads("This is not your password.").await?;
    window.fill("passkey_password", "lanterns along the quay").await?;
    window.press("#passkey button").await?;
    window.reads("Desk at the quay").await?;
    window.photographed_whole("account-passkey").await?;
    // The same device has one already and makes no second.
    window.fill("passkey_name", "Once more").await?;
    window.fill("passkey_password", "lanterns along the quay").await?;
    window.press("#passkey button").await?;
    window.reads("It may have one for this account already.").await?;

    sign_in(&window, &named, "Sign in with a passkey").await?;
    window.goto(&format!("{named}/account")).await?;
    window.reads("Last used").await?;

    // A second device for the same person, in Spanish.
    let cdp = window.driver.cdp();
    let gone = json!({ "authenticatorId": first });
    let credentials = cdp.send_raw("WebAuthn.getCredentials", gone.clone()).await?;
    assert_eq!(credentials["credentials"].as_array().map(Vec::len), Some(1));
    cdp.send_raw("WebAuthn.removeVirtualAuthenticator", gone).await?;
    authenticator(&window).await?;
    window.press("button[name=lang][value=es]").await?;
    window.reads("Llaves de acceso").await?;
    window.fill("passkey_name", "Teléfono de Rosa").await?;
    window.fill("passkey_password", "lanterns along the quay").await?;
    window.press("#passkey button").await?;
    window.reads("Teléfono de Rosa").await?;
    window.photographed_whole("account-passkeys-es").await?;
    sign_in(&window, &named, "Entrar con una llave de acceso").await?;

    // Taken away it opens nothing; the other one of the same person stays.
    window.goto(&format!("{named}/account")).await?;
    window.press("[aria-label='Quitar la llave de acceso Teléfono de Rosa']").await?;
    window.reads("Desk at the quay").await?;
    sign_out(&window, &named).await?;
    window.photographed("sign-in-passkey-es").await?;
    window.press("#passkey button").await?;
    window.reads("aquí ya no se conoce").await?;
    Ok(())
}

async fn sign_out(window: &Window, named: &str) -> anyhow::Result<()> {
    window.press("form[action='/sign-out'] button").await?;
    window.goto(&format!("{named}/sign-in")).await?;
    window.shows("passkey").await?;
    Ok(())
}

/// Signs out, and in again without typing anything.
async fn sign_in(window: &Window, named: &str, words: &str) -> anyhow::Result<()> {
    sign_out(window, named).await?;
    window.reads(words).await?;
    window.press("#passkey button").await?;
    // The foot of every page names who is signed in.
    window.reads("Rosa Quill").await
}
