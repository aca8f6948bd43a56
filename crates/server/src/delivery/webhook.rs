//! Signed webhooks after the Standard Webhooks specification 1.0: three headers, HMAC-SHA-256 over
//! `id.timestamp.body`, one secret a house. Recipes for SMS and voice are in `docs/alerts.md`.

use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use crate::settings::Kept;
use base64::{Engine, engine::general_purpose::STANDARD};
use hmac::{Hmac, KeyInit, Mac};
use serde::{Deserialize, Serialize};
use sha2::Sha256;

/// The prefix by which receivers' libraries know a secret.
const PREFIX: &str = "whsec_";
const KEY: &str = "webhooks";

/// The secret with which webhooks are signed.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Secret {
    /// `whsec_` and base64, as receivers' libraries take it.
    pub(crate) text: String,
}

impl Kept for Secret {
    const COLLECTION: &'static str = "secrets";
}

impl Secret {
    fn draw() -> Secret {
        Secret { text: format!("{PREFIX}{}", STANDARD.encode(secret::random::<32>())) }
    }

    /// The secret of this house, drawn when it is asked for first.
    pub(crate) async fn of(app: &App) -> Result<Secret, Problem> {
        if let Some(kept) = app.settings.get::<Secret>(KEY).await? {
            return Ok(kept);
        }
        let drawn = Secret::draw();
        match app.settings.add(KEY, &drawn).await {
            Ok(()) => Ok(drawn),
            Err(Problem::Changed) => app.settings.get::<Secret>(KEY).await?.ok_or(Problem::Changed),
            Err(problem) => Err(problem),
        }
    }

    /// Draws a new one; webhooks signed with the old one are no longer believed.
    pub(crate) async fn renew(app: &App) -> Result<(), Problem> {
        app.settings.put(KEY, &Secret::draw()).await
    }

    /// The value of `webhook-signature` for a message.
    pub(crate) fn sign(&self, id: &str, at_s: i64, body: &[u8]) -> Result<String, Problem> {
        let text = self.text.strip_prefix(PREFIX).unwrap_or(&self.text);
        let key = STANDARD.decode(text);
        let key =
            key.map_err(|_| Problem::Machine("the webhook secret is no base64".to_owned()))?;
        let mut mac = Hmac::<Sha256>::new_from_slice(&key)
            .map_err(|error| Problem::Machine(error.to_string()))?;
        mac.update(format!("{id}.{at_s}.").as_bytes());
        mac.update(body);
        Ok(format!("v1,{}", STANDARD.encode(mac.finalize().into_bytes())))
    }
}

/// Sends a message under its id; whoever gets it twice knows it by that id.
pub(crate) async fn send(
    app: &App,
    url: &str,
    id: &str,
    body: &serde_json::Value,
) -> Result<(), Problem> {
    let failed = |error: &dyn std::fmt::Display| Problem::Machine(format!("webhook: {error}"));
    let body = body.to_string();
    let at_s = app.clock.now_ms() / 1000;
    let signature = Secret::of(app).await?.sign(id, at_s, body.as_bytes())?;
    let answer = app
        .http
        .post(url)
        .header("content-type", "application/json")
        .header("webhook-id", id)
        .header("webhook-timestamp", at_s.to_string())
        .header("webhook-signature", signature)
        .body(body)
        .send()
        .await
        .map_err(|error| failed(&error.without_url()))?;
    match answer.status().is_success() {
        true => Ok(()),
        false => Err(failed(&format!("answered {}", answer.status()))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the specification (Standard Webhooks, "Signature scheme", and its reference
    /// libraries' test): secret, id, time and body there give this signature.
    #[test]
    fn the_published_example_has_this_signature() {
        let secret = Secret { text: "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw".to_owned() };
        let body = br#"{"test": 2432232314}"#;
        let signature = secret.sign("msg_p5jXN8AQM9LWM0D4loKWxJek", 1_614_265_330, body).unwrap();
        assert_eq!(signature, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
    }

    /// Judged by the reference library, which shares no code with ours.
    #[test]
    #[expect(clippy::disallowed_methods, reason = "the library compares with the real time")]
    fn the_reference_library_believes_ours_and_no_other() {
        let secret = Secret::draw();
        let judge = standardwebhooks::Webhook::new(&secret.text).unwrap();
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
        let at_s = since.as_secs() as i64;
        let headers = |signature: &str| {
            let mut headers = axum::http::HeaderMap::new();
            headers.insert("webhook-id", "a-1".parse().unwrap());
            headers.insert("webhook-timestamp", at_s.to_string().parse().unwrap());
            headers.insert("webhook-signature", signature.parse().unwrap());
            headers
        };
        let signature = secret.sign("a-1", at_s, b"{}").unwrap();
        judge.verify(b"{}", &headers(&signature)).unwrap();
        assert!(judge.verify(b"{ }", &headers(&signature)).is_err());
        let other = Secret::draw().sign("a-1", at_s, b"{}").unwrap();
        assert!(judge.verify(b"{}", &headers(&other)).is_err());
    }
}
