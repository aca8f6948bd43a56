//! The same reading as the desk's pages, for programs: JSON by OpenAPI, and CSV for spreadsheets.
//! Called by somebody signed in, or with a service token.

mod delivery;
mod findings;
mod one;
mod openapi;
mod table;
mod token;
mod watches;

pub(crate) use delivery::list as deliveries;
pub(crate) use findings::list as findings;
pub(crate) use one::{lines, lines_csv, show as one};
pub use openapi::document;
pub(crate) use openapi::show as openapi;
pub(crate) use token::{Program, list as tokens, make as make_token, of, revoke as revoke_token};
pub(crate) use watches::{csv as watches_csv, list as watches};

/// An instant as RFC 3339 in UTC.
fn rfc3339(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms).unwrap_or_default().to_string()
}
