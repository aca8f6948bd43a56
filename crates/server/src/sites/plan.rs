//! A site's plan: brought in as a file, with what was understood, guessed and dropped, the survey's
//! findings, and each level as a picture.

use super::Site;
use super::running;
use crate::account::Caller;
use crate::page::form::Field;
use crate::page::upload::Upload;
use crate::page::{Place, Reader, frame};
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use floorplan::import::{self, Report, Wishes};
use floorplan::{Circumstances, Plan, survey};
use ledger::Digest;
use maud::{Markup, html};
use picture::{Over, plan_svg};
use rules::say::Say;
use words::{Lang, desk, desk_sites, drawing};

/// Findings shown of each kind.
const SHOWN_MAX: usize = 60;

/// `GET /sites/{site}/plan`
pub(crate) async fn show(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let plan = stored(&app, &site).await?;
    let running = plan.as_ref().map(|plan| running::watches(&app, &reader, &id, plan));
    let shown = Shown { running: running.unwrap_or_default(), ..Shown::default() };
    Ok(page(&reader, &id, &site, plan.as_ref(), shown))
}

/// `POST /sites/{site}/plan`: a file of any format that is read.
pub(crate) async fn set(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
    caller: Caller,
    upload: Upload,
) -> Result<Response, Problem> {
    let mut site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let lang = reader.lang;
    let pasted = upload.typed.get("text").as_bytes().to_vec();
    let file = upload.files.into_iter().next().map(|(_, bytes)| bytes);
    let bytes = file.or(Some(pasted).filter(|bytes| !bytes.is_empty()));
    let read = match bytes {
        None => Err(desk_sites::plan_none(lang).to_owned()),
        Some(bytes) => {
            let name = site.name.clone();
            let read = tokio::task::spawn_blocking(move || understood(&name, &bytes)).await;
            read.map_err(|e| Problem::Machine(e.to_string()))?
        }
    };
    let (plan, report) = match read {
        Ok(read) => read,
        Err(says) => {
            let before = stored(&app, &site).await?;
            let shown = Shown { fault: Some(says), ..Shown::default() };
            let page = page(&reader, &id, &site, before.as_ref(), shown);
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
    };
    let before = stored(&app, &site).await?;
    let bytes = plan.canonical();
    let digest = Digest::of(&bytes);
    app.store.blobs().put(digest, bytes).await?;
    site.plan = Some(digest);
    app.settings.put(&id, &site).await?;
    people::changed(&app, "plan", &caller.id).await?;
    let shown = Shown {
        report,
        fault: None,
        changed: running::changed(lang, before.as_ref(), &plan),
        running: running::watches(&app, &reader, &id, &plan),
    };
    Ok(page(&reader, &id, &site, Some(&plan), shown).into_response())
}

/// Our own plan file, else whatever the importers know.
fn understood(name: &str, bytes: &[u8]) -> Result<(Plan, Option<Report>), String> {
    if let Ok(plan) = Plan::read(bytes) {
        return Ok((plan, None));
    }
    let wishes = Wishes { name: name.to_owned(), ..Wishes::default() };
    let imported = import::read(bytes, None, None, &wishes).map_err(|fault| fault.to_string())?;
    Ok((imported.plan, Some(imported.report)))
}

/// The plan that a site keeps.
pub(crate) async fn stored(app: &App, site: &Site) -> Result<Option<Plan>, Problem> {
    let Some(digest) = site.plan else { return Ok(None) };
    let Some(bytes) = app.store.blobs().get(digest).await? else { return Ok(None) };
    let plan = Plan::read(&bytes);
    plan.map(Some).map_err(|fault| Problem::Machine(fault.to_string()))
}

/// What stands on the page beside the plan itself.
#[derive(Default)]
struct Shown {
    report: Option<Report>,
    fault: Option<String>,
    /// Against the plan from before, in sentences.
    changed: Vec<String>,
    /// Watches that run here.
    running: Markup,
}

fn page(reader: &Reader, id: &str, site: &Site, plan: Option<&Plan>, shown: Shown) -> Markup {
    let lang = reader.lang;
    let body = html! {
        p { a href={ "/sites/" (id) } { (desk::back_to(lang, &site.name)) } }
        @if let Some(says) = &shown.fault {
            section.said role="alert" {
                p.fault { (desk_sites::plan_refused(lang)) }
                p lang="en" { (says) }
            }
        }
        @if let Some(report) = &shown.report { (account(lang, report)) }
        @if !shown.changed.is_empty() {
            section.said role="status" {
                h2 { (drawing::changed(lang)) }
                @for says in &shown.changed { p { (says) } }
            }
        }
        @match plan {
            Some(plan) => {
                p.lead {
                    (desk_sites::plan_of(lang, plan.levels.len() as i64, plan.stops.len() as i64,
                        plan.zones.len() as i64))
                }
                (shown.running)
                (surveyed(lang, site, plan))
                (pictures(lang, plan))
            }
            None => p.lead { (desk_sites::plan_not_yet(lang)) }
        }
        @if reader.may("/sites/{site}/plan") {
            div.submit {
                a.button.main href={ "/sites/" (id) "/draw" } {
                    @if plan.is_some() { (drawing::go_on(lang)) } @else { (drawing::begin(lang)) }
                }
                p.soft.tight { (drawing::begin_why(lang)) }
            }
            h2 { (desk_sites::plan_bring(lang)) }
            form method="post" action={ "/sites/" (id) "/plan" } enctype="multipart/form-data" {
                (Field::new("file", desk_sites::plan_file(lang), desk_sites::plan_file_why(lang)).around(
                    html! { input type="file" id="file" name="file" aria-describedby="file-why"; }))
                (Field::new("text", desk_sites::plan_text(lang), desk_sites::plan_text_why(lang)).around(
                    html! { textarea id="text" name="text" rows="4" aria-describedby="text-why" {} }))
                div.submit { button { (desk_sites::plan_do(lang)) } }
            }
        }
    };
    let title = format!("{}: {}", site.name, desk_sites::plan(lang));
    frame(reader, &title, Place::Sites, None, body)
}

/// What the import understood, guessed and dropped.
fn account(lang: Lang, report: &Report) -> Markup {
    let parts = [
        (desk_sites::understood(lang), &report.understood),
        (desk_sites::guessed(lang), &report.guessed),
        (desk_sites::dropped(lang), &report.dropped),
    ];
    html! {
        @for (title, notes) in parts {
            @if !notes.is_empty() {
                h2 { (title) }
                ul.kept lang="en" {
                    @for (what, note) in notes.iter().take(SHOWN_MAX) {
                        li {
                            strong { (note.count) " × " (what) }
                            p.soft { (note.examples.join(", ")) }
                        }
                    }
                }
            }
        }
    }
}

/// What is wrong inside the plan, what cannot be reached, and distances against limits.
fn surveyed(lang: Lang, site: &Site, plan: &Plan) -> Markup {
    let faults = plan.check();
    let drawn = !plan.rooms.is_empty() && faults.is_empty();
    let at = Circumstances {
        sprinklered: false,
        occupancy: if site.asleep { "R".to_owned() } else { "B".to_owned() },
        construction: false,
    };
    let found = drawn.then(|| survey(plan, rules::site_limits(), &at));
    html! {
        @if !faults.is_empty() {
            h2 { (desk_sites::put_right(lang)) }
            ul lang="en" { @for fault in faults.iter().take(SHOWN_MAX) { li { (fault) } } }
        }
        @if let Some(found) = found {
            h2 { (desk_sites::survey(lang)) }
            p.soft { (words::terms_of_trade::local_codes_decide(lang)) }
            ul.kept {
                @for lost in found.unreachable.iter().take(SHOWN_MAX) {
                    li {
                        strong.over { (desk_sites::unreachable(lang)) }
                        p { (lost.room) ", " (lost.spot.level) ": " (lost.missing.say(lang)) }
                    }
                }
                @for check in found.checks.iter().take(SHOWN_MAX) {
                    li {
                        strong .over[check.ok == Some(false)] {
                            @match check.ok {
                                Some(true) => (desk_sites::within_limit(lang)),
                                Some(false) => (desk_sites::beyond_limit(lang)),
                                None => (desk_sites::no_limit(lang)),
                            }
                        }
                        p { (rules::say::survey::check(lang, plan, check)) }
                    }
                }
            }
        }
    }
}

/// A picture as the source of an `img`: it brings its own styles, which the page's policy refuses inside the page.
pub(crate) fn as_source(svg: &str) -> String {
    format!("data:image/svg+xml;base64,{}", BASE64_STANDARD.encode(svg))
}

/// Each level that is drawn.
pub(super) fn pictures(lang: Lang, plan: &Plan) -> Markup {
    let drawn = plan
        .levels
        .iter()
        .filter_map(|level| Some((level, plan_svg(plan, &level.id, &Over::exact())?)));
    html! {
        @for (level, svg) in drawn {
            figure.plan {
                figcaption { (level.name) }
                img src=(as_source(&svg)) alt=(desk_sites::level_picture(lang, &level.name));
            }
        }
        @if plan.rooms.is_empty() {
            h2 { (desk_sites::zones(lang)) }
            ul.kept {
                @for zone in &plan.zones {
                    li {
                        strong { (zone.name) }
                        p { (desk::demand_gap(lang, words::minutes(i64::from(zone.gap_s) / 60))) }
                    }
                }
            }
        }
    }
}
