//! Requests of enrolled devices: known by a signature over what they ask.

use crate::App;
use crate::problem::Problem;
use crate::router::{BodyBytes, path_of};
use axum::extract::Request;
use axum::http::HeaderMap;
use ledger::{DeviceId, PublicKey, Signature};
use phone::sync::{DEVICE_HEADER, RequestNote, SIGNATURE_HEADER};

/// The device that sent a request.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Device(pub(crate) DeviceId);

/// Checks the headers against the keys that are let in.
pub(crate) fn authenticate(app: &App, request: &Request) -> Result<Device, Problem> {
    let key_of = |device| app.book().device(device).map(|known| known.key);
    check(app, request, key_of).map(Device)
}

/// As [`authenticate`], with the key that the request itself brings: for a device that asks to be
/// let in, which proves only that it holds that key.
pub(crate) fn check(
    app: &App,
    request: &Request,
    key_of: impl FnOnce(DeviceId) -> Option<PublicKey>,
) -> Result<DeviceId, Problem> {
    let body = request.extensions().get::<BodyBytes>().map(|b| b.0.clone()).unwrap_or_default();
    let text = header(request.headers(), DEVICE_HEADER)?;
    let signature = header(request.headers(), SIGNATURE_HEADER)?;
    let signature: Signature = serde_json::from_value(signature.into())
        .map_err(|_| Problem::Device("the signature header is not 64 bytes in base64".into()))?;
    let path = path_of(request.uri());
    RequestNote::check(text, &signature, path, &body, app.clock.now_ms(), key_of)
        .map(|note| note.dev)
        .map_err(|fault| Problem::Device(fault.to_string()))
}

fn header<'a>(headers: &'a HeaderMap, name: &str) -> Result<&'a str, Problem> {
    headers
        .get(name)
        .and_then(|value| value.to_str().ok())
        .ok_or_else(|| Problem::Device(format!("the header {name} is missing")))
}
