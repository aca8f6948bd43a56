//! The files of the phone and of the desk's drawing tool, from the folder that `cargo x web` fills or from inside the
//! program. Each file may lie there compressed beside itself.

use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use std::borrow::Cow;
use std::path::{Component, PathBuf};

/// `GET /phone`: the app lives under the path with the slash.
pub(crate) async fn to_shell() -> Redirect {
    Redirect::permanent("/phone/")
}

/// `GET /phone/`
pub(crate) async fn shell(State(app): State<App>, headers: HeaderMap) -> Result<Response, Problem> {
    file(&app, "index.html", &headers).await
}

/// `GET /phone/{*file}`
pub(crate) async fn get(
    State(app): State<App>,
    Path(name): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    file(&app, &name, &headers).await
}

/// `GET /drawing/{*file}`: the tool in which a site's plan is drawn. The phone carries none of it.
pub(crate) async fn drawing(
    State(app): State<App>,
    Path(name): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Problem> {
    file(&app, &format!("plan/{name}"), &headers).await
}

/// `GET /card`: the emergency card as a page of its own.
pub(crate) async fn card(State(app): State<App>, headers: HeaderMap) -> Result<Response, Problem> {
    file(&app, "card.html", &headers).await
}

async fn file(app: &App, name: &str, headers: &HeaderMap) -> Result<Response, Problem> {
    let accepts = headers.get(header::ACCEPT_ENCODING).and_then(|value| value.to_str().ok());
    let brotli = match accepts.is_some_and(|accepts| accepts.contains("br")) {
        true => bytes(app, &format!("{name}.br")).await,
        false => None,
    };
    let is_packed = brotli.is_some();
    let bytes = match brotli {
        Some(bytes) => bytes,
        None => bytes(app, name).await.ok_or(Problem::NotFound)?,
    };
    // The worker fetches every file once more when it has loaded: what the browser holds already costs no bytes then.
    let tag = format!("\"{}\"", &ledger::Digest::of(&bytes).to_string()[..20]);
    let held = headers.get(header::IF_NONE_MATCH).and_then(|value| value.to_str().ok());
    let mut response = match held.is_some_and(|held| held.contains(&tag)) {
        true => StatusCode::NOT_MODIFIED.into_response(),
        false => bytes.into_response(),
    };
    let headers = response.headers_mut();
    headers.insert(header::ETAG, HeaderValue::from_str(&tag).expect("hex digits in quotes"));
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind(name)));
    // The service worker keeps the files; the browser asks each time whether they are still right.
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-cache"));
    headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    if is_packed {
        headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("br"));
    }
    Ok(response)
}

/// A file of the folder, else one that lies in the program.
async fn bytes(app: &App, name: &str) -> Option<Cow<'static, [u8]>> {
    match &app.options.web {
        Some(folder) => tokio::fs::read(inside(folder, name)?).await.ok().map(Cow::Owned),
        None => {
            let packed = app.options.packed.iter().find(|(packed, _)| *packed == name);
            packed.map(|(_, bytes)| Cow::Borrowed(*bytes))
        }
    }
}

/// The path of a file that lies in the folder; none for a name that would lead out of it.
fn inside(folder: &std::path::Path, name: &str) -> Option<PathBuf> {
    let name = std::path::Path::new(name);
    let plain = name.components().all(|part| matches!(part, Component::Normal(_)));
    (plain && name.components().next().is_some()).then(|| folder.join(name))
}

fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("woff2") => "font/woff2",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_leads_out_of_the_folder() {
        let folder = std::path::Path::new("/srv/web");
        assert_eq!(inside(folder, "fonts/a.woff2"), Some(folder.join("fonts/a.woff2")));
        for name in ["../secret", "/etc/passwd", "fonts/../../x", "", "."] {
            assert_eq!(inside(folder, name), None, "{name}");
        }
    }
}
