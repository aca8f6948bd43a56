//! The desk's side of an enrolment: the link, its QR, and the code to compare.

use super::{Enrolment, Stage, keep_new, let_in, link};
use crate::account::Caller;
use crate::page::{Place, Reader, frame, time};
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use crate::stream::stream;
use axum::Form;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect};
use fast_qr::convert::svg::SvgBuilder;
use fast_qr::convert::{Builder, Shape};
use fast_qr::qr::QRBuilder;
use ledger::Digest;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use words::desk;

/// `GET /enrolment/{id}`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let (digest, enrolment) = find(&app, &id).await?;
    let part = part(&app, &reader, digest, &enrolment).await?;
    let title = desk::enrol_title(reader.lang);
    let stream = format!("/enrolment/{id}/stream");
    Ok(frame(&reader, title, Place::People, Some(&stream), part))
}

/// `GET /enrolment/{id}/stream`
pub(crate) async fn live(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> impl IntoResponse {
    stream(
        app,
        reader,
        |news| news.0.is_none(),
        move |app, reader| {
            let id = id.clone();
            async move {
                let (digest, enrolment) = find(&app, &id).await?;
                part(&app, &reader, digest, &enrolment).await
            }
        },
    )
}

/// The form of that page.
#[derive(Debug, Deserialize)]
pub(crate) struct Decision {
    /// Whether the codes are the same.
    same: bool,
}

/// `POST /enrolment/{id}`: a person has compared the codes.
pub(crate) async fn decide(
    State(app): State<App>,
    Path(id): Path<String>,
    caller: Caller,
    Form(decision): Form<Decision>,
) -> Result<Redirect, Problem> {
    let (digest, mut enrolment) = find(&app, &id).await?;
    if decision.same {
        let_in(&app, digest, &caller.id).await?;
    } else {
        enrolment.stage = Stage::Refused;
        app.settings.put(&digest.to_string(), &enrolment).await?;
        app.tokens.forget(digest);
        app.tell(None);
    }
    Ok(Redirect::to(&format!("/enrolment/{id}")))
}

/// `POST /enrolment/{id}/again`: the same once more, under a link that lasts as long as the first one did.
pub(crate) async fn once_more(
    State(app): State<App>,
    Path(id): Path<String>,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let (digest, old) = find(&app, &id).await?;
    if let Stage::In { .. } = old.stage {
        return Err(Problem::Changed);
    }
    // Whoever still holds the old link is let in by it no longer.
    let over = Enrolment { until_ms: app.clock.now_ms(), ..old.clone() };
    app.settings.put(&digest.to_string(), &over).await?;
    app.tokens.forget(digest);
    let fresh = Enrolment::new(&app, old.person, old.role, caller.id);
    let fresh = Enrolment { watch: old.watch, replaces: old.replaces, ..fresh };
    let digest = keep_new(&app, &fresh).await?;
    app.tell(None);
    Ok(Redirect::to(&format!("/enrolment/{digest}")))
}

async fn find(app: &App, id: &str) -> Result<(Digest, Enrolment), Problem> {
    let digest: Digest = id.parse().map_err(|_| Problem::NotFound)?;
    let found = app.settings.get::<Enrolment>(&digest.to_string()).await?;
    Ok((digest, found.ok_or(Problem::NotFound)?))
}

/// The living part of the page.
async fn part(
    app: &App,
    reader: &Reader,
    digest: Digest,
    enrolment: &Enrolment,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let name = people::get(app, &enrolment.person).await?.name;
    let over = enrolment.until_ms <= reader.now_ms;
    let body = match &enrolment.stage {
        Stage::Made | Stage::Waiting(_) if over => again(reader, digest, desk::enrol_over(lang)),
        Stage::Made => made(app, reader, digest, enrolment),
        Stage::Waiting(candidate) => html! {
            p.lead { (desk::enrol_compare(lang, &name)) }
            p.code { (spaced(&candidate.code)) }
            form.submit method="post" action={ "/enrolment/" (digest) } {
                button.main name="same" value="true" { (desk::enrol_same(lang)) }
                button name="same" value="false" { (desk::enrol_other(lang)) }
            }
            p.soft { (desk::enrol_why(lang)) }
        },
        Stage::In { device, .. } => html! {
            p.lead { (desk::enrol_in(lang, &name)) }
            p.soft { (desk::enrol_locked(lang)) }
            p.soft { (desk::device(lang)) " " span.link { (&device.to_string()[..16]) } }
        },
        Stage::Refused => again(reader, digest, desk::enrol_refused(lang)),
    };
    Ok(html! {
        div #enrolment {
            h2 { (&name) }
            (body)
            @if !enrolment.replaces.is_empty() {
                p { @match enrolment.stage {
                    Stage::In { .. } => (desk::replace_done(lang)),
                    _ => (desk::replace_until_then(lang)),
                } }
            }
            @if let (false, Stage::Made | Stage::Waiting(_), Some(watch)) =
                (enrolment.replaces.is_empty(), &enrolment.stage, &enrolment.watch)
            {
                p { (words::phone_file::before_replacing(lang)) " "
                    a href={ "/watch/" (watch) "/phone-file" } { (words::phone_file::link(lang)) } }
            }
            @match &enrolment.watch {
                Some(watch) => p { a href={ "/watch/" (watch) } { (desk::to_watch(lang)) } },
                None => p { a href={ "/people/" (enrolment.person) } { (desk::back_to(lang, &name)) } },
            }
        }
    })
}

/// What is over, and the way to another link for the same phone.
fn again(reader: &Reader, digest: Digest, says: &str) -> Markup {
    html! {
        p.lead { (says) }
        @if reader.may("/enrolment/{id}/again") {
            form.submit method="post" action={ "/enrolment/" (digest) "/again" } {
                button.main { (desk::enrol_again(reader.lang)) }
            }
        }
    }
}

fn made(app: &App, reader: &Reader, digest: Digest, enrolment: &Enrolment) -> Markup {
    let lang = reader.lang;
    let Some(token) = app.tokens.get(digest) else {
        return again(reader, digest, desk::enrol_once(lang));
    };
    let link = link(app, &token);
    html! {
        p.lead { (desk::enrol_lead(lang)) }
        div.one {
            div.qr { (qr(&link, desk::enrol_qr(lang))) }
            div {
                h3 { (desk::enrol_from_afar(lang)) }
                p.link { (link) }
                p.soft { (desk::enrol_until(lang, time::clock(enrolment.until_ms, &reader.tz))) }
                h3 { (desk::enrol_then(lang)) }
                ol {
                    li { (desk::enrol_step_open(lang)) }
                    li { (desk::enrol_step_read(lang)) }
                    li { (desk::enrol_step_confirm(lang)) }
                }
            }
        }
    }
}

/// A QR code as SVG, dark on light whatever the page's light is.
pub(crate) fn qr(text: &str, says: &str) -> Markup {
    let Ok(code) = QRBuilder::new(text.as_bytes().to_vec()).build() else { return html! {} };
    let svg = SvgBuilder::default().shape(Shape::Square).margin(0).to_str(&code);
    html! { div role="img" aria-label=(says) { (PreEscaped(svg)) } }
}

fn spaced(code: &str) -> String {
    let (first, last) = code.split_at(code.len() / 2);
    format!("{first} {last}")
}
