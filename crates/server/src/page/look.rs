//! The reader's own choice of language and light, kept in two cookies.

use crate::account::session::cookie_value;
use crate::{App, Problem};
use axum::Form;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Deserialize;
use words::Lang;

/// What was chosen: a language, and `night`, `day` or nothing.
pub(crate) fn look_of(headers: &HeaderMap) -> (Option<Lang>, &'static str) {
    let lang = cookie_value(headers, "lang");
    let lang = lang.and_then(|tag| Lang::ALL.into_iter().find(|lang| lang.tag() == tag));
    let light = match cookie_value(headers, "light") {
        Some("night") => "night",
        Some("day") => "day",
        _ => "",
    };
    (lang, light)
}

/// The form at the foot of every page.
#[derive(Debug, Deserialize)]
pub(crate) struct Choice {
    lang: Option<Lang>,
    light: Option<String>,
    back: String,
}

/// `POST /look`: keeps the choice and goes back.
pub(crate) async fn change_look(
    State(app): State<App>,
    Form(choice): Form<Choice>,
) -> Result<Response, Problem> {
    // Only a path of ours: never an address that leads elsewhere.
    let ours = choice.back.starts_with('/') && !choice.back.starts_with("//");
    let back = if ours && !choice.back.contains('\\') { choice.back.as_str() } else { "/" };
    let mut response = Redirect::to(back).into_response();
    let secure = if app.site.secure { "; Secure" } else { "" };
    let light = choice.light.as_deref().filter(|light| matches!(*light, "night" | "day" | "auto"));
    for (name, value) in [("lang", choice.lang.map(Lang::tag)), ("light", light)] {
        if let Some(value) = value {
            let text = format!("{name}={value}; Path=/; SameSite=Lax; Max-Age=31536000{secure}");
            let cookie = HeaderValue::from_str(&text).expect("tags and lights are plain ASCII");
            response.headers_mut().append(header::SET_COOKIE, cookie);
        }
    }
    Ok(response)
}
