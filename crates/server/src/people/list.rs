//! Everybody, and the form that adds somebody.

use super::one::trusted;
use super::{Person, new_id, put};
use crate::account::Caller;
use crate::page::form::Field;
use crate::page::typed::plain;
use crate::page::{Place, Reader, codes, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use record::Role;
use rules::say::Say;
use serde::Deserialize;
use words::{Lang, desk, desk_people};

/// Roles that the form offers.
pub(super) const OFFERED: [Role; 7] = [
    Role::Guard,
    Role::ShiftLead,
    Role::Dispatcher,
    Role::Keeper,
    Role::Proprietor,
    Role::Client,
    Role::Auditor,
];

/// The form.
#[derive(Debug, Clone, Default, Deserialize)]
pub(crate) struct NewPerson {
    name: String,
    number: String,
    language: Lang,
    role: String,
}

/// `GET /people`
pub(crate) async fn list(State(app): State<App>, reader: Reader) -> Markup {
    page(
        &app,
        &reader,
        &NewPerson { role: codes::value(Role::Guard), ..NewPerson::default() },
        None,
    )
}

/// `POST /people`
pub(crate) async fn add(
    State(app): State<App>,
    reader: Reader,
    caller: Caller,
    Form(form): Form<NewPerson>,
) -> Result<Response, Problem> {
    let role = codes::read(&form.role).filter(|role| OFFERED.contains(role));
    let role = role.ok_or(Problem::Forbidden)?;
    // Nobody makes somebody more powerful than themselves.
    if role == Role::Proprietor && caller.role != Role::Proprietor {
        return Err(Problem::Forbidden);
    }
    let name = plain(&form.name);
    if name.is_empty() {
        let fault = desk::needed(reader.lang);
        return Ok(page(&app, &reader, &form, Some(fault)).into_response());
    }
    let id = new_id();
    let person = Person {
        name,
        number: plain(&form.number),
        language: form.language,
        role,
        sites: Vec::new(),
        left: false,
        languages: String::new(),
        qualifications: Vec::new(),
    };
    put(&app, &id, person, &caller.id).await?;
    Ok(Redirect::to(&format!("/people/{id}")).into_response())
}

fn page(app: &App, reader: &Reader, form: &NewPerson, fault: Option<&str>) -> Markup {
    let lang = reader.lang;
    let body = html! {
        @if app.book().people.is_empty() { p.lead { (desk_people::nobody(lang)) } }
        (table(app, reader))
        (still_trusted(app, reader))
        @if reader.may("/people") {
            p.submit { a.button href="/people/import" { (desk_people::import(lang)) } }
            h2 { (desk::person_new(lang)) }
            form method="post" action="/people" {
                (Field::new("name", desk::person_name(lang), desk::person_name_why(lang))
                    .fault(fault).text("text", &form.name, true))
                (Field::new("number", desk::person_number(lang), desk::person_number_why(lang))
                    .text("tel", &form.number, false))
                (Field::new("language", desk::person_language(lang), desk::person_language_why(lang))
                    .choice(languages(), form.language.tag()))
                (Field::new("role", desk::person_role(lang), desk::person_role_why(lang))
                    .choice(OFFERED.map(|r| (codes::value(r), r.say(lang))), &form.role))
                div.submit { button.main { (desk::person_add(lang)) } }
            }
        }
    };
    frame(reader, desk::place_people(lang), Place::People, None, body)
}

/// The languages, each in its own words.
pub(crate) fn languages() -> impl Iterator<Item = (String, &'static str)> {
    Lang::ALL.into_iter().map(|lang| (lang.tag().to_owned(), desk::language(lang)))
}

/// Whoever has left and whose phone is still let in: it may be one that others carry, so a person decides.
fn still_trusted(app: &App, reader: &Reader) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let left = book.people.iter().filter(|(id, person)| person.left && trusted(&book, id) > 0);
    let left: Vec<_> = left.map(|(id, person)| (id, &person.name)).collect();
    html! {
        @if !left.is_empty() {
            h2 { (desk_people::left_still(lang)) }
            ul { @for (id, name) in left { li { a href={ "/people/" (id) } { (name) } } } }
        }
    }
}

fn table(app: &App, reader: &Reader) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    html! {
        div.scroll tabindex="0" role="region" aria-label=(desk::place_people(lang)) {
            table.stack {
                thead {
                    tr {
                        th scope="col" { (desk::person_name(lang)) }
                        th scope="col" { (desk::person_role(lang)) }
                        th scope="col" { (desk::person_number(lang)) }
                        th scope="col" { (desk_people::speaks(lang)) }
                        th scope="col" { (desk_people::qualifications(lang)) }
                        th scope="col" { (desk::person_phones(lang)) }
                    }
                }
                tbody {
                    @for (id, person) in book.people.iter().filter(|(_, person)| !person.left) {
                        tr {
                            th scope="row" { a href={ "/people/" (id) } { (person.name) } }
                            td { (person.role.say(lang)) }
                            td { (person.number) }
                            td { (desk::language(person.language)) " " (person.languages) }
                            td { (super::one::qualified(reader, person)) }
                            td {
                                @match trusted(&book, id) {
                                    0 => (desk::phones_none(lang)),
                                    phones => (desk::phones(lang, phones)),
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
