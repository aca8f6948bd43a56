//! People out of a table, and the form that tables are brought in with.

use super::{Person, new_id, put};
use crate::account::Caller;
use crate::csv_file::{self, TableFault};
use crate::page::form::Field;
use crate::page::typed::plain;
use crate::page::upload::Upload;
use crate::page::{Place, Reader, codes, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use record::Role;
use words::{Lang, desk, desk_sites};

/// Columns that a table of people may have.
pub(crate) const COLUMNS: [&str; 5] = ["name", "number", "language", "role", "qualifications"];
const NEEDED: [&str; 1] = ["name"];

/// `GET /people/import`
pub(crate) async fn show_import(reader: Reader) -> Markup {
    page(&reader, "", None)
}

/// `POST /people/import`: all rows or none. Nobody becomes a proprietor by a table.
pub(crate) async fn import(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    upload: Upload,
) -> Result<Response, Problem> {
    let text = table_text(&upload);
    match people_of(&text, reader.lang) {
        Err(says) => {
            let page = page(&reader, &text, Some(&says));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Ok(people) => {
            for person in people {
                put(&app, &new_id(), person, &caller.id).await?;
            }
            Ok(Redirect::to("/people").into_response())
        }
    }
}

/// The people of a table, or what is wrong with it.
pub(crate) fn people_of(text: &str, lang: Lang) -> Result<Vec<Person>, String> {
    let rows = csv_file::read(text, &NEEDED).map_err(|f| table_fault(lang, &f, &COLUMNS))?;
    rows.iter()
        .map(|row| {
            let wrong =
                |column: &str, says: &str| desk_sites::line_wrong(lang, row.line, column, says);
            let name = plain(row.get("name"));
            if name.is_empty() {
                return Err(wrong("name", desk::needed(lang)));
            }
            let role = match row.get("role") {
                "" => Role::Guard,
                text => codes::read(text)
                    .filter(|role| super::list::OFFERED.contains(role) && *role != Role::Proprietor)
                    .ok_or_else(|| wrong("role", words::desk_write::choose(lang)))?,
            };
            let qualifications = super::qualification::read(
                &row.get("qualifications").replace('|', "\n"),
            )
            .map_err(|_| wrong("qualifications", words::desk_people::qualification_wrong(lang)))?;
            Ok(Person {
                name,
                number: plain(row.get("number")),
                language: Lang::from_tag(row.get("language")),
                role,
                sites: Vec::new(),
                left: false,
                languages: String::new(),
                qualifications,
            })
        })
        .collect()
}

fn page(reader: &Reader, typed: &str, fault: Option<&str>) -> Markup {
    let lang = reader.lang;
    let body = table_form(lang, "/people/import", &COLUMNS, typed, fault);
    frame(reader, words::desk_people::import(lang), Place::People, None, body)
}

/// The table that came: a file, else what was pasted.
pub(crate) fn table_text(upload: &Upload) -> String {
    let file = upload.files.first().map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned());
    file.unwrap_or_else(|| upload.typed.get("text").to_owned())
}

/// What is wrong with a table, and what to do.
pub(crate) fn table_fault(lang: Lang, fault: &TableFault, columns: &[&str]) -> String {
    match fault {
        TableFault::Empty => desk_sites::table_empty(lang).to_owned(),
        TableFault::Missing(column) => desk_sites::column_missing(lang, column, columns.join(", ")),
        TableFault::Line(line) => desk_sites::line_unread(lang, line),
        TableFault::Formula(line) => desk_sites::line_formula(lang, line),
        TableFault::TooMany(most) => desk_sites::table_long(lang, most),
    }
}

/// A form for a table: a file or its text.
pub(crate) fn table_form(
    lang: Lang,
    action: &str,
    columns: &[&str],
    typed: &str,
    fault: Option<&str>,
) -> Markup {
    html! {
        p.lead { (desk_sites::table_lead(lang)) }
        p { (desk_sites::table_columns(lang)) " "
            // A line breaks after a comma, never within a name.
            code { @for (i, column) in columns.iter().enumerate() { @if i > 0 { "," wbr; } (column) } } }
        @if let Some(fault) = fault { p.fault role="alert" { (desk_sites::table_refused(lang)) " " (fault) } }
        form method="post" action=(action) enctype="multipart/form-data" {
            (Field::new("file", desk_sites::table_file(lang), desk_sites::table_file_why(lang)).around(
                html! { input type="file" id="file" name="file" accept=".csv,text/csv" aria-describedby="file-why"; }))
            (Field::new("text", desk_sites::table_text(lang), desk_sites::table_text_why(lang)).around(
                html! { textarea id="text" name="text" rows="8" aria-describedby="text-why" { (typed) } }))
            div.submit { button.main { (desk_sites::table_do(lang)) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A quoted cell may hold line breaks and anything else, a name is one line.
    #[test]
    fn a_name_out_of_a_table_is_one_line() {
        let text = "name,number\r\n\"Ana\u{7}\r\n Pires \",\"1 555\n0100\"\r\n";
        let people = people_of(text, Lang::En).unwrap();
        assert_eq!(
            (people[0].name.as_str(), people[0].number.as_str()),
            ("Ana Pires", "1 5550100")
        );
        let nobody = people_of("name,number\r\n\"\u{7}\",1\r\n", Lang::En).unwrap_err();
        assert!(nobody.contains('2'), "the line is named: {nobody}");
    }
}
