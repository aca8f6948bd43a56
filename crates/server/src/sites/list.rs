//! Every site, by name.

use super::Site;
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Query, State};
use maud::{Markup, html};
use serde::Deserialize;
use words::{desk, desk_sites};

/// Sites shown; the others are found by name.
const SHOWN_MAX: usize = 200;

/// What is looked for.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Find {
    #[serde(default)]
    find: String,
}

/// `GET /sites`
pub(crate) async fn list(
    State(app): State<App>,
    reader: Reader,
    Query(find): Query<Find>,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let wanted = find.find.trim().to_lowercase();
    let mut sites = app.settings.all::<Site>().await?;
    sites.retain(|(_, site)| {
        let texts = [&site.name, &site.address, &site.town, &site.client];
        wanted.is_empty() || texts.iter().any(|text| text.to_lowercase().contains(&wanted))
    });
    sites.sort_by(|a, b| a.1.name.cmp(&b.1.name).then_with(|| a.0.cmp(&b.0)));
    let body = html! {
        div.bar {
            p { @if !sites.is_empty() { (desk_sites::count(lang, sites.len() as i64)) } }
            form action="/sites" role="search" {
                input type="search" name="find" value=(find.find) placeholder=(desk::find(lang))
                    aria-label=(desk::find(lang)) maxlength="100";
                button { (desk::find_do(lang)) }
            }
            @if reader.may("/sites/new") {
                a.button.main href="/sites/new" { (desk_sites::new(lang)) }
            }
            @if reader.may("/sites/import") {
                a.button href="/sites/import" { (desk_sites::import(lang)) }
            }
        }
        @if sites.is_empty() {
            p.lead.quiet {
                @if wanted.is_empty() { (desk::sites_none(lang)) }
                @else { (desk::found_none(lang, find.find.trim())) }
            }
        }
        ul.kept {
            @for (id, site) in sites.iter().take(SHOWN_MAX) {
                li {
                    a href={ "/sites/" (id) } { (site.name) }
                    p { (site.town) ", " (site.address) }
                }
            }
        }
        @if sites.len() > SHOWN_MAX {
            p.soft { (desk::more_sites(lang, (sites.len() - SHOWN_MAX) as i64)) }
        }
    };
    Ok(frame(&reader, desk::place_sites(lang), Place::Sites, None, body))
}
