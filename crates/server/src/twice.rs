//! A form pressed twice writes once. Somebody with cold hands presses a control two times, or again because the answer
//! is slow: the second press gets the first one's answer.

use crate::account::caller::Caller;
use crate::router::BodyBytes;
use crate::server::App;
use axum::extract::Request;
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use ledger::Digest;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// The same form by the same session within this time is one press (our own default).
const APART_MS: i64 = 3_000;

/// Where a form led: the answer that a second press gets too.
#[derive(Debug, Clone)]
struct Led {
    at_ms: i64,
    status: StatusCode,
    headers: HeaderMap,
}

/// One form; whoever presses again waits here for the first.
type Press = Arc<tokio::sync::Mutex<Option<Led>>>;

/// Forms of the last seconds, by who sent what where.
#[derive(Debug, Default)]
pub(crate) struct Presses(Mutex<BTreeMap<Digest, (i64, Press)>>);

impl Presses {
    fn of(&self, form: Digest, now_ms: i64) -> Press {
        let mut presses = self.0.lock().expect("nobody panics with it");
        presses
            .retain(|_, (at_ms, press)| now_ms - *at_ms < APART_MS || Arc::strong_count(press) > 1);
        presses.entry(form).or_insert_with(|| (now_ms, Press::default())).1.clone()
    }
}

/// Hands a signed form on once; files are not compared.
pub(crate) async fn once(app: &App, request: Request, next: Next) -> Response {
    let Some(form) = form(&request) else { return next.run(request).await };
    let press = app.presses.of(form, app.clock.mono_ms());
    let mut led = press.lock().await;
    if let Some(led) = led.as_ref().filter(|led| app.clock.mono_ms() - led.at_ms < APART_MS) {
        return (led.status, led.headers.clone()).into_response();
    }
    let response = next.run(request).await;
    // Only what was done is not done again: a form that was refused may be sent as often as one likes.
    // What sets a cookie, a language or a theme, must set it each time.
    let sets = response.headers().contains_key(header::SET_COOKIE);
    if response.status().is_redirection() && !sets {
        let mut headers = HeaderMap::new();
        if let Some(to) = response.headers().get(header::LOCATION) {
            headers.insert(header::LOCATION, to.clone());
        }
        let (at_ms, status) = (app.clock.mono_ms(), response.status());
        *led = Some(Led { at_ms, status, headers });
    }
    response
}

/// What names a form: the session, the page and every byte of it.
fn form(request: &Request) -> Option<Digest> {
    let kind = request.headers().get(header::CONTENT_TYPE)?.to_str().ok()?;
    if request.method() != Method::POST || !kind.starts_with("application/x-www-form-urlencoded") {
        return None;
    }
    let caller = request.extensions().get::<Caller>()?;
    let body = request.extensions().get::<BodyBytes>()?;
    let parts =
        [caller.session.to_string().as_bytes(), request.uri().to_string().as_bytes(), &body.0]
            .map(|part| Digest::of(part).to_string());
    Some(Digest::of(parts.concat().as_bytes()))
}
