//! Sites: where watches were and are.

use crate::opening::Site;
use crate::page::{Place, Reader, frame, time};
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use maud::{Markup, html};
use words::desk;

/// `GET /sites`
pub(crate) async fn list(State(app): State<App>, reader: Reader) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let mut sites = app.settings.all::<Site>().await?;
    sites.sort_by(|a, b| a.1.name.cmp(&b.1.name).then_with(|| a.0.cmp(&b.0)));
    let body = html! {
        @if sites.is_empty() { p.lead.quiet { (desk::sites_none(lang)) } }
        ul.kept {
            @for (id, site) in &sites {
                li {
                    a href={ "/sites/" (id) } { (site.name) }
                    p { (site.town) ", " (site.address) }
                }
            }
        }
    };
    Ok(frame(&reader, desk::place_sites(lang), Place::Sites, None, body))
}

/// `GET /sites/{site}`
pub(crate) async fn one(
    State(app): State<App>,
    Path(id): Path<String>,
    reader: Reader,
) -> Result<Markup, Problem> {
    let lang = reader.lang;
    let site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let book = app.book();
    let here = book.watches().filter(|(_, live)| {
        let opening = live.fold.lines().find_map(|kept| match &kept.said {
            record::Entry::WatchOpened(body) => Some(body.site.as_str() == id),
            _ => None,
        });
        opening == Some(true)
    });
    let body = html! {
        p.lead { (site.town) ", " (site.address) ". " (time::zone_name(&site.tz)) "." }
        h2 { (desk::place_watches(lang)) }
        ul.kept {
            @for (watch, live) in here {
                li {
                    a href={ "/watch/" (watch) } { (reader.when(live.standing.from_ms)) }
                    p {
                        @match live.standing.released_ms {
                            Some(at_ms) => (desk::released_at(lang, reader.when(at_ms))),
                            None => (desk::runs(lang)),
                        }
                    }
                }
            }
        }
    };
    Ok(frame(&reader, &site.name, Place::Sites, None, body))
}
