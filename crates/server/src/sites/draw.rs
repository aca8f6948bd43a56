//! The page on which a plan is drawn: it says what the browser's tool begins with, and carries the form by which the
//! drawn plan goes through the same door as a file.

use super::Site;
use super::plan::stored;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use maud::{Markup, html};
use words::{desk, drawing};

/// `GET /sites/{site}/draw`
pub(crate) async fn draw(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let plan = stored(&app, &site).await?;
    let measures = measures()?.to_string();
    let body = html! {
        link rel="stylesheet" href="/drawing/draw.css";
        p { a href={ "/sites/" (id) "/plan" } { (desk::back_to(lang, &site.name)) } }
        noscript {
            p.lead { (drawing::no_script(lang)) }
            p { (drawing::no_script_else(lang)) }
        }
        section #draw-failed hidden role="alert" { p.fault { (drawing::failed(lang)) } }
        div #draw data-site=(id) data-name=(site.name) data-lang=(lang.tag())
            data-measures=(measures) { p.soft { (drawing::loading(lang)) } }
        @if let Some(plan) = &plan {
            textarea #plan-now hidden { (String::from_utf8_lossy(&plan.canonical())) }
        }
        form #save-form method="post" action={ "/sites/" (id) "/plan" } enctype="multipart/form-data" {
            textarea #drawn name="text" hidden {}
        }
        script type="module" src="/drawing/draw.js" {}
    };
    let title = format!("{}: {}", site.name, drawing::title(lang));
    Ok(frame(&reader, &title, Place::Sites, None, body))
}

/// What the tool reckons with, as `plan-web` reads it.
fn measures() -> Result<serde_json::Value, Problem> {
    let broken = |fault: floorplan::limits::LimitFault| Problem::Machine(fault.to_string());
    let usual = |name: &str| rules::site_limits().usual(name).map_err(broken);
    Ok(serde_json::json!({
        "level_mm_s": usual("walking-level")?,
        "stair_mm_s": usual("walking-stair")?,
        "slope_permille": usual("stair-slope")?,
        "door_s": usual("door")?,
        "key_s": usual("key")?,
        "lift_s": usual("lift")?,
        "inspect_s": usual("inspect")?,
        "look_s": usual("look")?,
        "sight_mm": usual("sight-range")?,
        "share_permille": planner::answer::USUAL_SHARE_PERMILLE,
    }))
}
