//! Browsers and phones that ask for push messages, and take that back.

use super::push::Subscription;
use crate::account::Caller;
use crate::device::Device;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Redirect;
use axum::{Extension, Form, Json};
use serde::Deserialize;

/// Subscriptions of one person or phone; the oldest goes first.
const EACH_MAX: usize = 8;

/// What a browser's `PushSubscription` says of itself (W3C Push API, `toJSON`).
#[derive(Debug, Deserialize)]
pub(crate) struct Asked {
    endpoint: String,
    keys: Keys,
}

#[derive(Debug, Deserialize)]
struct Keys {
    p256dh: String,
    auth: String,
}

/// `GET /push/key`: what a browser needs before it can ask.
pub(crate) async fn key(State(app): State<App>) -> Json<serde_json::Value> {
    Json(serde_json::json!({ "key": app.push_key.public() }))
}

/// `POST /push`: a browser of somebody signed in.
pub(crate) async fn browser(
    State(app): State<App>,
    caller: Caller,
    Json(asked): Json<Asked>,
) -> Result<StatusCode, Problem> {
    let person = Some(caller.id);
    keep(&app, Subscription { person, ..subscription(&app, asked) }).await
}

/// `POST /push/phone`: an enrolled phone.
pub(crate) async fn phone(
    State(app): State<App>,
    Extension(Device(dev)): Extension<Device>,
    Json(asked): Json<Asked>,
) -> Result<StatusCode, Problem> {
    app.heard(dev);
    let device = Some(dev);
    keep(&app, Subscription { device, ..subscription(&app, asked) }).await
}

/// Which browser is told no longer.
#[derive(Debug, Deserialize)]
pub(crate) struct Stopped {
    key: String,
}

/// `POST /push/stop`: one of one's own browsers is told no longer.
pub(crate) async fn stop(
    State(app): State<App>,
    caller: Caller,
    Form(form): Form<Stopped>,
) -> Result<Redirect, Problem> {
    let kept = app.settings.get::<Subscription>(&form.key).await?;
    let own = kept.filter(|kept| kept.person.as_ref() == Some(&caller.id));
    own.ok_or(Problem::NotFound)?;
    app.settings.remove::<Subscription>(&form.key).await?;
    Ok(Redirect::to("/account"))
}

fn subscription(app: &App, asked: Asked) -> Subscription {
    Subscription {
        endpoint: asked.endpoint,
        p256dh: asked.keys.p256dh,
        auth: asked.keys.auth,
        person: None,
        device: None,
        since_ms: app.clock.now_ms(),
    }
}

async fn keep(app: &App, new: Subscription) -> Result<StatusCode, Problem> {
    new.check()?;
    let all = app.settings.all::<Subscription>().await?;
    let whose = |kept: &Subscription| (kept.person.clone(), kept.device);
    let mut same: Vec<_> = all.into_iter().filter(|(_, kept)| whose(kept) == whose(&new)).collect();
    same.sort_by_key(|(_, kept)| std::cmp::Reverse(kept.since_ms));
    for (key, _) in same.iter().skip(EACH_MAX - 1) {
        app.settings.remove::<Subscription>(key).await?;
    }
    app.settings.put(&new.key(), &new).await?;
    Ok(StatusCode::NO_CONTENT)
}
