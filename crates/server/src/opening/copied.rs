//! A watch as last time: the form filled from the site and from the newest watch there.

use crate::page::typed::Typed;
use crate::page::{Reader, codes};
use crate::problem::Problem;
use crate::server::App;
use crate::shelf;
use crate::sites::{self, Site};
use ledger::WatchId;

/// Fills the form.
pub(super) async fn from_last_time(
    app: &App,
    reader: &Reader,
    id: &str,
    typed: &mut Typed,
) -> Result<(), Problem> {
    let site = app.settings.get::<Site>(id).await?.ok_or(Problem::NotFound)?;
    let drawn = sites::plan_of(app, &site).await?.is_some();
    for (name, value) in [
        ("site", id.to_owned()),
        ("name", site.name.clone()),
        ("address", site.address.clone()),
        ("town", site.town.clone()),
        ("tz", site.tz.clone()),
        ("emergency", site.emergency.clone()),
        ("practice", site.practice.value().to_owned()),
        ("asleep", if site.asleep { "yes".to_owned() } else { String::new() }),
        ("drawn", if drawn { "yes".to_owned() } else { String::new() }),
    ] {
        typed.set(name, value);
    }
    for profile in &site.profiles {
        typed.add("profile", profile);
    }
    let language = reader.lang.tag();
    if let Some(sheet) = site.sheet(language) {
        typed.set("instructions", sheet.lines.join("\n"));
    }
    let Some(last) = newest_at(app, id) else { return Ok(()) };
    shelf::bring_back(app, &last).await?;
    let book = app.book();
    let Some(last) = book.watch(&last) else { return Ok(()) };
    if !drawn && let Some(plan) = &last.documents.plan {
        let zones: Vec<&str> = plan.zones.iter().map(|zone| zone.name.as_str()).collect();
        typed.set("floors", "0");
        typed.set("places", zones.join("\n"));
    }
    let demands = last.documents.terms.iter().flat_map(|terms| &terms.demands);
    if let Some(demand) = demands.into_iter().find(|demand| demand.gap_s.is_some()) {
        typed.set("gap_min", (demand.gap_s.unwrap_or_default() / 60).to_string());
        if site.profiles.is_empty() {
            typed.set("source", demand.source.clone());
            typed.set("source_from", codes::value(demand.from));
        }
    }
    for system in &last.standing.out {
        typed.add("out", codes::value(*system));
    }
    if let Some((guard, ..)) = last.standing.planned.first() {
        typed.set("guard", guard.to_string());
    }
    Ok(())
}

fn newest_at(app: &App, site: &str) -> Option<WatchId> {
    let book = app.book();
    let here =
        book.watches().filter(|(_, live)| live.site.as_ref().is_some_and(|s| s.as_str() == site));
    here.max_by_key(|(_, live)| live.standing.from_ms).map(|(id, _)| id.clone())
}
