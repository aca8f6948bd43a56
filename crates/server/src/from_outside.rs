//! What bytes of strangers meet first, before anything is kept: tables, forms, pictures. Public so that `fuzz` can
//! try these readers with no server around them; nothing here is meant for other programs.

use crate::page::upload::Upload;
use crate::{csv_file, people, photo, sites};
use axum::body::Body;
use axum::extract::Request;
use axum::http::header;
use words::Lang;

/// What a table of people or sites comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// The name by which pages and messages call a person or a site.
    pub name: String,
    /// The number to ring; of a site, the emergency number.
    pub number: String,
}

/// The people of a table, as `POST /people/import` reads it, or what is wrong with it.
pub fn people(text: &str) -> Result<Vec<Named>, String> {
    let people = people::people_of(text, Lang::En)?;
    Ok(people.into_iter().map(|one| Named { name: one.name, number: one.number }).collect())
}

/// The sites of a table, as `POST /sites/import` reads it, or what is wrong with it.
pub fn sites(text: &str) -> Result<Vec<Named>, String> {
    let sites = sites::sites_of(text, Lang::En, "America/Chicago")?;
    Ok(sites.into_iter().map(|one| Named { name: one.name, number: one.emergency }).collect())
}

/// Reads a table of people and writes its rows again, all columns of such a table in one order.
pub fn table_again(text: &str) -> Option<Vec<u8>> {
    let rows = csv_file::read(text, &[]).ok()?;
    let cells = |row: &csv_file::Row| people::COLUMNS.map(|name| row.get(name).to_owned()).to_vec();
    let rows: Vec<Vec<String>> = rows.iter().map(cells).collect();
    Some(csv_file::write(&people::COLUMNS, rows.iter().map(Vec::as_slice)))
}

/// Names and lengths of the files in a form with files (RFC 7578), or what is wrong with it.
pub async fn form(content_type: &str, body: Vec<u8>) -> Result<Vec<(String, usize)>, String> {
    let request = Request::post("/").header(header::CONTENT_TYPE, content_type);
    let request = request.body(Body::from(body)).map_err(|wrong| wrong.to_string())?;
    let upload = Upload::read(request).await.map_err(|problem| problem.to_string())?;
    Ok(upload.files.into_iter().map(|(name, bytes)| (name, bytes.len())).collect())
}

/// The media type of a photo, if it is one that is taken.
pub fn photo(bytes: &[u8]) -> Option<&'static str> {
    photo::check(bytes).ok()
}
