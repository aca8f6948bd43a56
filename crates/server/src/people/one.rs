//! One person: their phones, and the link that lets a phone in.

use super::get;
use crate::account::Caller;
use crate::book::Book;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use crate::{enrolment, tonight};
use axum::extract::{Path, State};
use axum::response::Redirect;
use ledger::PersonId;
use maud::{Markup, html};
use record::Role;
use rules::say::Say;
use words::{desk, desk_people};

/// A certificate that runs out within so many days is said so (our own default).
const SOON_DAYS: i32 = 30;

/// `GET /people/{person}`
pub(crate) async fn one(
    State(app): State<App>,
    Path(person): Path<PersonId>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let found = get(&app, &person).await?;
    let number = tonight::row::dialled(&found.number);
    let sites = super::change::sites_for(&app, found.role).await?;
    let body = html! {
        p.lead {
            (found.role.say(lang)) ". " (desk::language(found.language)) ". "
            @if !number.is_empty() { a href={ "tel:" (number) } { (found.number) } }
        }
        @if found.left {
            p.over { (desk_people::left_yes(lang)) }
            @let phones = trusted(&app.book(), &person);
            @if phones > 0 { p.over { (desk_people::left_phones(lang, phones)) } }
        }
        @if !found.languages.is_empty() { p { (desk_people::speaks(lang)) ": " (found.languages) } }
        h2 { (desk_people::qualifications(lang)) }
        @if found.qualifications.is_empty() { p.soft { (desk_people::qualifications_none(lang)) } }
        (qualified(&reader, &found))
        @if found.role == Role::Client {
            h2 { (desk_people::client_sites(lang)) }
            @let own: Vec<_> = sites.iter().filter(|(id, _)| found.sites.contains(id)).collect();
            @if own.is_empty() { p { (desk_people::client_sites_none(lang)) } }
            ul.kept { @for (id, name) in own { li { a href={ "/sites/" (id) } { (name) } } } }
        }
        (super::change::form(&reader, &person, &found, &sites))
        h2 { (desk::person_phones(lang)) }
        (phones(&app, &reader, &person))
        @if reader.may("/people/{person}/enrol") {
            form.submit method="post" action={ "/people/" (person) "/enrol" } {
                button.main { (desk::enrol_make(lang)) }
            }
            p.soft { (desk::enrol_make_why(lang)) }
        }
        @if reader.may("/people/{person}/invite") {
            h2 { (desk::invite(lang)) }
            p { (desk::invite_why(lang)) }
            form.submit method="post" action={ "/people/" (person) "/invite" } {
                button { (desk::invite_make(lang)) }
            }
        }
    };
    Ok(frame(&reader, &found.name, Place::People, None, body))
}

/// What somebody is qualified for; what has run out stands out.
pub(super) fn qualified(reader: &Reader, person: &super::Person) -> Markup {
    let lang = reader.lang;
    let today = reader.today();
    html! {
        @for qualification in &person.qualifications {
            p.tight {
                (qualification.name) " "
                @if let Some(until) = qualification.until {
                    @let day = words::date(lang, until.day().unsigned_abs(), until.month().unsigned_abs(), until.year());
                    @if !qualification.holds(today) { strong.over { (desk_people::qualification_over(lang, day)) } }
                    @else if !qualification.holds(reader.in_days(SOON_DAYS)) {
                        strong { (desk_people::qualification_soon(lang, day)) }
                    }
                    @else { (desk_people::qualification_until(lang, day)) }
                }
            }
        }
    }
}

/// How many phones of a person are let in.
pub(super) fn trusted(book: &Book, person: &PersonId) -> i64 {
    let own = book.devices().filter(|(_, known)| known.person.as_ref() == Some(person));
    own.filter(|(_, known)| !known.revoked).count() as i64
}

fn phones(app: &App, reader: &Reader, person: &PersonId) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let own: Vec<_> =
        book.devices().filter(|(_, known)| known.person.as_ref() == Some(person)).collect();
    html! {
        @if own.is_empty() { p { (desk::no_phone(lang)) } }
        @else {
            ul.kept {
                @for (id, known) in own {
                    li {
                        span.link { (&id.to_string()[..16]) }
                        div {
                            @if known.revoked { (desk::phone_revoked(lang)) }
                            @else if let Some(heard_ms) = known.heard_ms {
                                (desk::phone_heard(lang, reader.when(heard_ms)))
                            }
                            @else { (desk::phone_never(lang)) }
                            @if !known.revoked && reader.may("/device/{device}/revoke") {
                                form method="post" action={ "/device/" (id) "/revoke" } {
                                    button { (desk::phone_revoke(lang)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// `POST /people/{person}/enrol`: makes the link and shows it.
pub(crate) async fn enrol(
    State(app): State<App>,
    Path(person): Path<PersonId>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let role = get(&app, &person).await?.role;
    let digest = enrolment::make(&app, person, role, None, caller.id).await?;
    Ok(Redirect::to(&format!("/enrolment/{digest}")))
}
