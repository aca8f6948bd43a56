//! What is known of a person, changed.

use super::qualification::{self, Qualification};
use super::{Person, get, put};
use crate::account::Caller;
use crate::page::form::{Field, checks};
use crate::page::typed::Typed;
use crate::page::{Place, Reader, codes, frame};
use crate::problem::Problem;
use crate::server::App;
use crate::sites::Site;
use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::PersonId;
use maud::{Markup, html};
use record::{Role, SiteId};
use rules::say::Say;
use words::{Lang, desk, desk_people};

/// The sites that somebody with this role can be shown, by name: only a client is shown some and not
/// others.
pub(super) async fn sites_for(app: &App, role: Role) -> Result<Vec<(SiteId, String)>, Problem> {
    if role != Role::Client {
        return Ok(Vec::new());
    }
    let sites = app.settings.all::<Site>().await?;
    let named = sites.into_iter().filter_map(|(id, site)| Some((SiteId::new(id).ok()?, site.name)));
    let mut named: Vec<_> = named.collect();
    named.sort_by(|a, b| a.1.cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
    Ok(named)
}

/// The form, folded until it is wanted.
pub(super) fn form(
    reader: &Reader,
    id: &PersonId,
    person: &Person,
    sites: &[(SiteId, String)],
) -> Markup {
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
    person.sites.iter().for_each(|site| typed.add("site", site.as_str()));
    html! {
        @if reader.may("/people/{person}") {
            details {
                summary { (desk_people::change(reader.lang)) }
                (fields(reader, id, &typed, sites, None))
            }
        }
    }
}

fn fields(
    reader: &Reader,
    id: &PersonId,
    typed: &Typed,
    sites: &[(SiteId, String)],
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
            @if !sites.is_empty() {
                (checks("site", desk_people::client_sites(lang), desk_people::client_sites_why(lang),
                    sites.iter().map(|(id, name)| (id.to_string(), name.clone())),
                    |value| typed.chose("site", value)))
            }
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
    let sites = sites_for(&app, role).await?;
    let qualifications = qualification::read(typed.get("qualifications"));
    let fault = match (&qualifications, typed.text("name").is_empty()) {
        (_, true) => Some(("name", desk::needed(reader.lang))),
        (Err(_), _) => Some(("qualifications", desk_people::qualification_wrong(reader.lang))),
        _ => None,
    };
    let (Ok(qualifications), None) = (qualifications, fault) else {
        let body = fields(&reader, &id, &typed, &sites, fault);
        let page = frame(&reader, &before.name, Place::People, None, body);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let chosen = sites.into_iter().map(|(id, _)| id);
    let chosen = chosen.filter(|id| typed.chose("site", id.as_str())).collect();
    let person = Person {
        name: typed.text("name"),
        number: typed.text("number"),
        language: Lang::from_tag(typed.get("language")),
        role,
        languages: typed.text("languages"),
        qualifications,
        left: leaves,
        sites: chosen,
    };
    put(&app, &id, person, &caller.id).await?;
    Ok(Redirect::to(&format!("/people/{id}")).into_response())
}
