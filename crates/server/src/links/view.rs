//! `GET /view/{token}`: one watch at phone size, for whoever has the link. Reading is an entry.

use super::{Guest, Link};
use crate::one_watch;
use crate::page::form::Field;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use crate::tonight::row::joint;
use axum::Extension;
use axum::extract::State;
use axum::response::IntoResponse;
use maud::{Markup, html};
use record::{Role, Viewed, Words};
use rules::say::Say;
use words::{desk, lasting, links};

/// An opening soon after the last one is the same reading, ms (our own figure).
const SAME_READING_MS: i64 = 15 * 60_000;
/// The page draws itself again so often, s.
const AGAIN_S: &str = "60";

/// `GET /view/{token}`
pub(crate) async fn show(
    State(app): State<App>,
    reader: Reader,
    Extension(guest): Extension<Guest>,
) -> Result<impl IntoResponse, Problem> {
    note(&app, &guest, reader.now_ms).await?;
    let seen = one_watch::seen(&app, &guest.link.watch, reader.now_ms).await?;
    let lang = reader.lang;
    let row = crate::tonight::row::row(&seen.id, &seen.live, &app.book(), &reader);
    let body = html! {
        section.said {
            @if row.drill { p.drillband { span { (words::terms_of_trade::drill_do_not_call(lang)) } } }
            p.lead {
                @match seen.live.standing.released_ms {
                    Some(at_ms) => (desk::released_at(lang, reader.when(at_ms))),
                    None => {
                        @if !row.wrong.is_empty() { strong.ember { (row.wrong) } }
                        @if !row.wrong.is_empty() && !row.rest.is_empty() { (joint(&row.wrong)) }
                        (row.rest)
                    }
                }
            }
            p.soft {
                (links::reads_as(lang, guest.link.role.say(lang), reader.when(guest.link.until_ms)))
                " " (links::is_noted(lang))
            }
        }
        (hazards(&reader, &guest, &seen))
        (one_watch::for_guests(&app, &reader, &seen))
        @if guest.link.role == Role::Client { (signing(&reader, &guest)) }
        p.soft { (words::report::not_walking(lang)) " " (links::ask_bundle(lang)) }
    };
    let page = frame(&reader, seen.live.documents.name(), Place::None, None, body);
    // A form that somebody is filling in is not thrown away under their hands.
    let again = (guest.link.role == Role::Inspector).then_some(("refresh", AGAIN_S));
    Ok((axum::response::AppendHeaders(again), page))
}

/// Writes that somebody reads, once a reading.
async fn note(app: &App, guest: &Guest, now_ms: i64) -> Result<(), Problem> {
    let link = &guest.link;
    if link.viewed_ms.is_some_and(|at_ms| now_ms - at_ms < SAME_READING_MS) {
        return Ok(());
    }
    let entry = Viewed { by: link.person.clone(), role: link.role };
    let statement = Statement::with(entry, Words::from_text(&link.whom));
    app.scribe.write(app, &link.watch, &link.person, vec![statement]).await?;
    app.settings.put(&guest.key, &Link { viewed_ms: Some(now_ms), ..link.clone() }).await
}

/// What is open; a client says of each that it is put right.
fn hazards(reader: &Reader, guest: &Guest, seen: &one_watch::Seen) -> Markup {
    let lang = reader.lang;
    let open: Vec<_> = seen.state.open_observations().collect();
    let may_say = guest.link.role == Role::Client && seen.live.standing.released_ms.is_none();
    html! {
        h2 { (desk::open_observations(lang)) }
        @if open.is_empty() { p { (links::none_open(lang)) } }
        ul.kept {
            @for observation in open {
                li {
                    strong { (observation.class.say(lang)) }
                    div {
                        (seen.said_of(observation)) " "
                        span.soft { (desk::open_for(lang, lasting(observation.open_ms / 1000))) }
                        @if let Some(fixed) = &observation.marked_fixed {
                            p { strong { (links::said_fixed(lang, reader.when(fixed.when.at_ms))) } }
                        } @else if may_say {
                            form method="post" action={ "/view/" (guest.token) "/fixed" }
                                enctype="multipart/form-data" {
                                input type="hidden" name="of" value=(observation.written.line);
                                label {
                                    (links::photo(lang)) " "
                                    input type="file" name="photo" accept="image/jpeg,image/png,image/webp";
                                }
                                button { (links::say_fixed(lang)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn signing(reader: &Reader, guest: &Guest) -> Markup {
    let lang = reader.lang;
    html! {
        h2 { (links::sign(lang)) }
        form method="post" action={ "/view/" (guest.token) "/countersign" } {
            (Field::new("name", links::sign_name(lang), links::sign_why(lang)).text("text", "", true))
            div.submit { button.main { (links::sign_do(lang)) } }
        }
    }
}
