//! The desk's side of an enrolment: the link, its QR, and the code to compare.

use super::{Enrolment, Stage, let_in, link};
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
        Stage::Made if over => html! { p.lead { (desk::enrol_over(lang)) } },
        Stage::Made => made(app, reader, digest, enrolment),
        Stage::Waiting(_) if over => html! { p.lead { (desk::enrol_over(lang)) } },
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
        Stage::Refused => html! { p.lead { (desk::enrol_refused(lang)) } },
    };
    Ok(html! {
        div #enrolment {
            h2 { (name) }
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
            @if let Some(watch) = &enrolment.watch {
                p { a href={ "/watch/" (watch) } { (desk::to_watch(lang)) } }
            }
        }
    })
}

fn made(app: &App, reader: &Reader, digest: Digest, enrolment: &Enrolment) -> Markup {
    let lang = reader.lang;
    let Some(token) = app.tokens.get(digest) else {
        return html! { p.lead { (desk::enrol_once(lang)) } };
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
