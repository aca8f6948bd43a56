//! Sites out of a table.

use super::Site;
use super::form;
use crate::account::Caller;
use crate::csv_file::{self, TableFault};
use crate::page::typed::Typed;
use crate::page::upload::Upload;
use crate::page::{Place, Reader, frame};
use crate::people;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::Markup;
use words::{Lang, desk_sites};

/// Columns that a table of sites may have; the first three must be there.
const COLUMNS: [&str; 11] = [
    "name",
    "address",
    "town",
    "tz",
    "emergency",
    "practice",
    "cross_street",
    "meet",
    "client",
    "call_spots",
    "equipment",
];
const NEEDED: [&str; 3] = ["name", "address", "town"];

/// `GET /sites/import`
pub(crate) async fn show_import(reader: Reader) -> Markup {
    page(&reader, "", None)
}

/// `POST /sites/import`: all rows or none.
pub(crate) async fn import(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    upload: Upload,
) -> Result<Response, Problem> {
    let text = people::table_text(&upload);
    let sites = match sites_of(&text, reader.lang, &reader.tz_name) {
        Ok(sites) => sites,
        Err(says) => {
            let page = page(&reader, &text, Some(&says));
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    for site in &sites {
        app.settings.add(&secret::id("s"), site).await?;
    }
    people::changed(&app, "sites", &caller.id).await?;
    Ok(Redirect::to("/sites").into_response())
}

/// The sites of a table, or what is wrong with it; `tz` is that of whoever brings it.
pub(crate) fn sites_of(text: &str, lang: Lang, tz: &str) -> Result<Vec<Site>, String> {
    let says = |fault: TableFault| people::table_fault(lang, &fault, &COLUMNS);
    let rows = csv_file::read(text, &NEEDED).map_err(says)?;
    let mut sites = Vec::new();
    for row in rows {
        let mut typed = Typed::default();
        for column in COLUMNS {
            typed.set(column, row.get(column));
        }
        if typed.get("tz").is_empty() {
            typed.set("tz", tz);
        }
        if typed.get("emergency").is_empty() && typed.get("practice").is_empty() {
            typed.set("emergency", "911");
        }
        let site = form::site(&typed, Site::default(), lang).map_err(|faults| {
            let (name, says) = faults.iter().next().expect("a refusal has a fault");
            desk_sites::line_wrong(lang, row.line, *name, *says)
        })?;
        sites.push(site);
    }
    Ok(sites)
}

fn page(reader: &Reader, typed: &str, fault: Option<&str>) -> Markup {
    let lang = reader.lang;
    let title = desk_sites::import(lang);
    let body = people::table_form(lang, "/sites/import", &COLUMNS, typed, fault);
    frame(reader, title, Place::Sites, None, body)
}
