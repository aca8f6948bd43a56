//! `GET /api/openapi.json`: the description of this API, the same as `docs/api/openapi.json`.

use axum::http::header;
use axum::response::IntoResponse;
use utoipa::openapi::security::{ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityScheme};
use utoipa::{Modify, OpenApi};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Rattlewatch",
        description = "Reads the watches of one house as its desk shows them. Times are RFC 3339 in UTC, durations end in _s and are seconds. A program sends a service token; somebody signed in at the desk needs none.",
        license(name = "MIT OR Apache-2.0")
    ),
    paths(
        super::watches::list,
        super::watches::csv,
        super::one::show,
        super::one::lines,
        super::one::lines_csv,
        super::findings::list,
        super::delivery::list
    ),
    modifiers(&Keys),
    security(("token" = []), ("session" = []))
)]
struct Api;

/// By what a caller is known.
struct Keys;

impl Modify for Keys {
    fn modify(&self, openapi: &mut utoipa::openapi::OpenApi) {
        let components = openapi.components.get_or_insert_default();
        let bearer = HttpBuilder::new().scheme(HttpAuthScheme::Bearer).build();
        components.add_security_scheme("token", SecurityScheme::Http(bearer));
        let cookie = SecurityScheme::ApiKey(ApiKey::Cookie(ApiKeyValue::new("__Host-session")));
        components.add_security_scheme("session", cookie);
    }
}

/// The description as JSON text.
pub fn document() -> String {
    let text = Api::openapi().to_pretty_json();
    text.expect("a description of plain types is always JSON") + "\n"
}

/// `GET /api/openapi.json`
pub(crate) async fn show() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "application/json")], document())
}
