//! What is known of a person, changed.

use super::qualification::{self, Qualification};
use super::{Person, get, put};
use crate::account::Caller;
use crate::page::form::{Field, checks};
use crate::page::typed::Typed;
use crate::page::{Place, Reader, codes, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::PersonId;
use maud::{Markup, html};
use record::Role;
use rules::say::Say;
use words::{Lang, desk, desk_people};

/// The form, folded until it is wanted.
pub(super) fn form(reader: &Reader, id: &PersonId, person: &Person) -> Markup {
    let mut typed = Typed::default();
    let lines: Vec<String> = person.qualifications.iter().map(Qualification::typed).collect();
    for (name, value) in [
        ("name", person.name.clone()),
        ("number", person.number.clone()),
        ("language", person.language.tag().to_owned()),
        ("role", codes::value(person.role)),
        ("languages", person.languages.clone()),
        ("qualifications", lines.join("\n")),
        ("left", if person.left { "yes".to_owned() } else { String::new() }),
    ] {
        typed.set(name, value);
    }
    html! {
        @if reader.may("/people/{person}") {
            details {
                summary { (desk_people::change(reader.lang)) }
                (fields(reader, id, &typed, None))
            }
        }
    }
}

fn fields(
    reader: &Reader,
    id: &PersonId,
    typed: &Typed,
    fault: Option<(&'static str, &'static str)>,
) -> Markup {
    let lang = reader.lang;
    let field = |name: &'static str, label, why| {
        Field::new(name, label, why)
            .fault(fault.filter(|(of, _)| *of == name).map(|(_, says)| says))
    };
    html! {
        form method="post" action={ "/people/" (id) } {
            (field("name", desk::person_name(lang), desk::person_name_why(lang))
                .text("text", typed.get("name"), true))
            (field("number", desk::person_number(lang), desk::person_number_why(lang))
                .text("tel", typed.get("number"), false))
            (field("language", desk::person_language(lang), desk::person_language_why(lang))
                .choice(super::languages(), typed.get("language")))
            (field("languages", desk_people::speaks(lang), desk_people::speaks_why(lang))
                .text("text", typed.get("languages"), false))
            (field("role", desk::person_role(lang), desk::person_role_why(lang))
                .choice(super::list::OFFERED.map(|r| (codes::value(r), r.say(lang))), typed.get("role")))
            (field("qualifications", desk_people::qualifications_lines(lang), desk_people::qualifications_why(lang))
                .area(typed.get("qualifications"), 4))
            (checks("left", desk_people::left(lang), desk_people::left_why(lang),
                [("yes".to_owned(), desk_people::left_yes(lang).to_owned())],
                |value| typed.chose("left", value)))
            div.submit { button { (desk::save(lang)) } }
        }
    }
}

/// `POST /people/{person}`
pub(crate) async fn change(
    State(app): State<App>,
    Path(id): Path<PersonId>,
    reader: Reader,
    caller: Caller,
    Form(pairs): Form<Vec<(String, String)>>,
) -> Result<Response, Problem> {
    let before = get(&app, &id).await?;
    let typed = Typed::read(pairs);
    let role: Role = codes::read(typed.get("role"))
        .filter(|role| super::list::OFFERED.contains(role))
        .ok_or(Problem::Forbidden)?;
    // Nobody makes or changes somebody more powerful than themselves.
    let raises = role == Role::Proprietor || before.role == Role::Proprietor;
    if raises && caller.role != Role::Proprietor {
        return Err(Problem::Forbidden);
    }
    let leaves = typed.chose("left", "yes");
    if leaves && id == caller.id {
        return Err(Problem::Forbidden);
    }
    let qualifications = qualification::read(typed.get("qualifications"));
    let fault = match (&qualifications, typed.text("name").is_empty()) {
        (_, true) => Some(("name", desk::needed(reader.lang))),
        (Err(_), _) => Some(("qualifications", desk_people::qualification_wrong(reader.lang))),
        _ => None,
    };
    let (Ok(qualifications), None) = (qualifications, fault) else {
        let body = fields(&reader, &id, &typed, fault);
        let page = frame(&reader, &before.name, Place::People, None, body);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let person = Person {
        name: typed.text("name"),
        number: typed.text("number"),
        language: Lang::from_tag(typed.get("language")),
        role,
        languages: typed.text("languages"),
        qualifications,
        left: leaves,
        ..before
    };
    put(&app, &id, person, &caller.id).await?;
    Ok(Redirect::to(&format!("/people/{id}")).into_response())
}
