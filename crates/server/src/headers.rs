//! The headers of every answer, and the check that a change comes from a page of ours.

use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::Response;

/// Only what we serve ourselves is loaded; nothing inline runs.
const CONTENT_SECURITY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; \
style-src 'self'; font-src 'self'; img-src 'self' data: blob:; connect-src 'self'; media-src 'self'; \
manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// Camera, microphone and position are the phone's.
const DESK_PERMISSIONS: &str = "camera=(), microphone=(), geolocation=()";
const PHONE_PERMISSIONS: &str = "camera=(self), microphone=(self), geolocation=(self)";

/// Puts the headers on every answer.
pub(crate) async fn guard(State(app): State<App>, request: Request, next: Next) -> Response {
    let phone = request.uri().path().starts_with("/phone");
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let permissions = if phone { PHONE_PERMISSIONS } else { DESK_PERMISSIONS };
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY),
        (HeaderName::from_static("permissions-policy"), permissions),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if app.site.secure {
        let year = HeaderValue::from_static("max-age=31536000");
        headers.insert(header::STRICT_TRANSPORT_SECURITY, year);
    }
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    if kind.is_some_and(|kind| kind.starts_with("text/event-stream")) {
        // Proxies that gather answers before they pass them on are asked not to: news is for now.
        headers
            .insert(HeaderName::from_static("x-accel-buffering"), HeaderValue::from_static("no"));
    }
    // What a person sees is not kept by the browser's back button after signing out.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Whether a request that changes something was sent by a page of this very origin.
///
/// `Origin` and `Sec-Fetch-Site` are set by the browser and cannot be set by a page; one of them
/// must say that the request is ours, and neither may say that it is not.
pub(crate) fn check_same_site(
    method: &Method,
    headers: &HeaderMap,
    origins: &[String],
) -> Result<(), Problem> {
    if matches!(*method, Method::GET | Method::HEAD) {
        return Ok(());
    }
    let site = headers.get("sec-fetch-site").map(|value| value.as_bytes() == b"same-origin");
    // A page that sends no referrer sends its forms with the origin `null`: that says nothing.
    let origin = headers
        .get(header::ORIGIN)
        .filter(|value| value.as_bytes() != b"null")
        .map(|value| origins.iter().any(|ours| ours.as_bytes() == value.as_bytes()));
    match (site, origin) {
        (Some(false), _) | (_, Some(false)) | (None, None) => Err(Problem::OtherSite),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(method: Method, headers: &[(&str, &str)], ours: bool) {
        let headers = headers
            .iter()
            .map(|(name, value)| {
                (name.parse::<HeaderName>().unwrap(), HeaderValue::from_str(value).unwrap())
            })
            .collect();
        let origins = ["https://desk.example".to_owned()];
        assert_eq!(check_same_site(&method, &headers, &origins).is_ok(), ours);
    }

    #[test]
    fn a_change_must_come_from_our_own_page() {
        check(Method::GET, &[], true);
        check(Method::POST, &[], false);
        check(Method::POST, &[("origin", "https://desk.example")], true);
        check(Method::POST, &[("origin", "https://evil.example")], false);
        check(Method::POST, &[("origin", "null")], false);
        check(Method::POST, &[("sec-fetch-site", "same-origin")], true);
        check(Method::POST, &[("sec-fetch-site", "same-origin"), ("origin", "null")], true);
        check(Method::POST, &[("sec-fetch-site", "cross-site"), ("origin", "null")], false);
        check(Method::POST, &[("sec-fetch-site", "same-site")], false);
        let mixed = [("sec-fetch-site", "cross-site"), ("origin", "https://desk.example")];
        check(Method::POST, &mixed, false);
    }
}
