//! For whom a page is drawn: language, light, time zone, and who that is.

use super::look_of;
use crate::account::Caller;
use crate::{App, Problem};
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use jiff::tz::TimeZone;
use words::Lang;

/// For whom a page is drawn.
#[derive(Debug, Clone)]
pub(crate) struct Reader {
    pub(crate) lang: Lang,
    /// `night`, `day`, or empty for what the device prefers.
    pub(crate) light: &'static str,
    pub(crate) caller: Option<Caller>,
    pub(crate) tz: TimeZone,
    pub(crate) tz_name: String,
    pub(crate) now_ms: i64,
    /// How much waits for a second person.
    pub(crate) waiting: usize,
    /// The path, for forms that come back here.
    pub(crate) path: String,
}

impl Reader {
    /// The reader of a request.
    pub(crate) fn of(app: &App, headers: &HeaderMap, path: &str, caller: Option<Caller>) -> Reader {
        let (lang, light) = look_of(headers);
        let accepted = headers.get(header::ACCEPT_LANGUAGE).and_then(|value| value.to_str().ok());
        let lang =
            lang.unwrap_or_else(|| accepted.map(Lang::from_accept_language).unwrap_or_default());
        let tz_name = app.house().tz.clone();
        let tz = TimeZone::get(&tz_name).unwrap_or(TimeZone::UTC);
        let now_ms = app.clock.now_ms();
        let (waiting, path) = (app.book().acts.len(), path.to_owned());
        Reader { lang, light, caller, tz, tz_name, now_ms, waiting, path }
    }
}

impl FromRequestParts<App> for Reader {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Reader, Problem> {
        let caller = parts.extensions.get::<Caller>().cloned();
        Ok(Reader::of(app, &parts.headers, parts.uri.path(), caller))
    }
}

impl FromRequestParts<App> for Caller {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _app: &App) -> Result<Caller, Problem> {
        parts.extensions.get::<Caller>().cloned().ok_or(Problem::SignIn)
    }
}

impl Reader {
    /// The day by the desk's clock.
    pub(crate) fn today(&self) -> jiff::civil::Date {
        super::time::day(self.now_ms, &self.tz)
    }

    /// The day so many days from now.
    pub(crate) fn in_days(&self, days: i32) -> jiff::civil::Date {
        self.today().saturating_add(jiff::Span::new().days(days))
    }

    /// Whether the reader may open the page of a path.
    pub(crate) fn may_open(&self, path: &str) -> bool {
        self.allowed(&axum::http::Method::GET, path)
    }

    /// Whether the reader may send the form of a path, so that no page offers what would be refused.
    pub(crate) fn may(&self, path: &str) -> bool {
        self.allowed(&axum::http::Method::POST, path)
    }

    fn allowed(&self, method: &axum::http::Method, path: &str) -> bool {
        let rule = crate::roles::rule_of(method, path);
        let role = self.caller.as_ref().map(|caller| caller.role);
        role.zip(rule).is_some_and(|(role, rule)| rule.allows(role))
    }
}
