//! A plan that changes while watches run: what changed, and the new plan given to a watch. A watch keeps the plan it was
//! opened with until somebody gives it another; nothing that it is owed is lost by that.

use super::Site;
use super::plan::stored;
use crate::account::Caller;
use crate::opening::plan_lines;
use crate::page::Reader;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::{Path, State};
use axum::response::Redirect;
use floorplan::Plan;
use ledger::{Digest, WatchId};
use maud::{Markup, html};
use record::{TermsSet, ZoneId};
use std::collections::BTreeSet;
use words::{Lang, drawing, duration_words};

/// What changed from one plan to another, in sentences.
pub(super) fn changed(lang: Lang, before: Option<&Plan>, now: &Plan) -> Vec<String> {
    let Some(before) = before else { return vec![drawing::changed_first(lang).to_owned()] };
    let zones = |plan: &Plan| -> Vec<(String, String)> {
        plan.zones.iter().map(|it| (it.id.to_string(), it.name.clone())).collect()
    };
    let stops = |plan: &Plan| -> Vec<(String, String)> {
        plan.stops.iter().map(|it| (it.id.to_string(), it.name.clone())).collect()
    };
    let mut out = Vec::new();
    if let Some(names) = only_in(&zones(now), &zones(before)) {
        out.push(drawing::added_zones(lang, names));
    }
    if let Some(names) = only_in(&zones(before), &zones(now)) {
        out.push(drawing::gone_zones(lang, names));
    }
    if let Some(names) = only_in(&stops(now), &stops(before)) {
        out.push(drawing::added_stops(lang, names));
    }
    if let Some(names) = only_in(&stops(before), &stops(now)) {
        out.push(drawing::gone_stops(lang, names));
    }
    for zone in &now.zones {
        if let Some(old) = before.zone(&zone.id).filter(|old| old.gap_s != zone.gap_s) {
            let time = |s: u32| duration_words(i64::from(s));
            out.push(drawing::other_gap(lang, time(old.gap_s), time(zone.gap_s), &zone.name));
        }
    }
    if out.is_empty() {
        out.push(drawing::changed_nothing(lang).to_owned());
    }
    out
}

/// The names that one list has and the other has not, by id.
fn only_in(one: &[(String, String)], other: &[(String, String)]) -> Option<String> {
    let known: BTreeSet<&str> = other.iter().map(|(id, _)| id.as_str()).collect();
    let names: Vec<&str> = one
        .iter()
        .filter(|(id, _)| !known.contains(id.as_str()))
        .map(|(_, name)| name.as_str())
        .collect();
    (!names.is_empty()).then(|| names.join(", "))
}

/// The watches that run at a site, each with what this plan would mean for it.
pub(super) fn watches(app: &App, reader: &Reader, id: &str, plan: &Plan) -> Markup {
    let lang = reader.lang;
    let book = app.book();
    let running: Vec<(WatchId, String, Meaning)> = book
        .watches()
        .filter(|(_, live)| live.site.as_ref().is_some_and(|site| site.as_str() == id))
        .filter(|(_, live)| live.standing.released_ms.is_none())
        .filter_map(|(watch, live)| {
            let state = live.about(reader.now_ms)?;
            let (terms, held) = (&state.terms.as_ref()?.set, &state.plan.as_ref()?.set);
            let when = reader.when(live.standing.from_ms);
            Some((watch.clone(), when, Meaning::of(plan, terms, held)))
        })
        .collect();
    html! {
        @if !running.is_empty() {
            h2 { (drawing::running(lang)) }
            p.soft { (drawing::running_why(lang)) }
            ul.kept {
                @for (watch, when, meaning) in &running {
                    li {
                        a href={ "/watch/" (watch) } { (when) }
                        div { (offer(reader, id, watch, meaning)) }
                    }
                }
            }
        }
    }
}

fn offer(reader: &Reader, id: &str, watch: &WatchId, meaning: &Meaning) -> Markup {
    let lang = reader.lang;
    html! {
        @if meaning.same {
            p { (drawing::running_same(lang)) }
        } @else if !meaning.lacks.is_empty() {
            p.over { (drawing::running_lacks(lang, meaning.lacks.join(", "))) }
        } @else {
            p { (drawing::running_new(lang, meaning.stops_gone, meaning.stops_new as i64)) }
            @if let Some(gap_s) = meaning.new_gap_s {
                p { (drawing::running_gap(lang, duration_words(i64::from(gap_s)))) }
            }
            @if reader.may("/sites/{site}/plan/{watch}") {
                form.inline method="post" action={ "/sites/" (id) "/plan/" (watch) } {
                    button { (drawing::running_give(lang)) }
                }
            }
        }
    }
}

/// What a plan means for a running watch.
struct Meaning {
    /// The watch has it already.
    same: bool,
    /// Zones that the watch is owed and the plan has not.
    lacks: Vec<String>,
    stops_new: usize,
    stops_gone: usize,
    /// The gap of zones that are new, if there are any.
    new_gap_s: Option<u32>,
}

impl Meaning {
    fn of(plan: &Plan, terms: &TermsSet, held: &record::PlanSet) -> Meaning {
        let (fitted, _) = fitted(plan, terms);
        let zones: BTreeSet<&str> = plan.zones.iter().map(|zone| zone.id.as_str()).collect();
        let owed = terms.gaps_s.keys().map(|zone| zone.as_str());
        let stops: BTreeSet<&str> = plan.stops.iter().map(|stop| stop.id.as_str()).collect();
        let had: BTreeSet<&str> = held.stops.keys().map(|stop| stop.as_str()).collect();
        let new = plan
            .zones
            .iter()
            .any(|zone| !terms.gaps_s.keys().any(|id| id.as_str() == zone.id.as_str()));
        Meaning {
            same: Digest::of(&fitted.canonical()) == held.plan,
            lacks: owed.filter(|zone| !zones.contains(zone)).map(str::to_owned).collect(),
            stops_new: stops.difference(&had).count(),
            stops_gone: had.difference(&stops).count(),
            new_gap_s: strictest(terms).filter(|_| new),
        }
    }
}

fn strictest(terms: &TermsSet) -> Option<u32> {
    terms.gaps_s.values().min().copied()
}

/// The plan with the gaps of a watch, and the watch's terms with the plan's new zones. A zone that the watch knows keeps
/// its gap; a new one is owed a look as often as the strictest, since nobody has said yet that less is enough.
fn fitted(plan: &Plan, terms: &TermsSet) -> (Plan, TermsSet) {
    let (mut plan, mut terms) = (plan.clone(), terms.clone());
    let strictest = strictest(&terms);
    for zone in &mut plan.zones {
        let Ok(id) = ZoneId::new(zone.id.as_str()) else { continue };
        let new = zone.gap_s.min(strictest.unwrap_or(zone.gap_s));
        zone.gap_s = *terms.gaps_s.entry(id).or_insert(new);
    }
    (plan, terms)
}

/// `POST /sites/{site}/plan/{watch}`: the site's plan for a watch that runs.
pub(crate) async fn give(
    State(app): State<App>,
    Path((id, watch)): Path<(String, String)>,
    reader: Reader,
    caller: Caller,
) -> Result<Redirect, Problem> {
    let site = app.settings.get::<Site>(&id).await?.ok_or(Problem::NotFound)?;
    let plan = stored(&app, &site).await?.ok_or(Problem::NotFound)?;
    let watch = WatchId::new(watch).map_err(|_| Problem::NotFound)?;
    let state = {
        let book = app.book();
        let live = book.watch(&watch).ok_or(Problem::NotFound)?;
        let here = live.site.as_ref().is_some_and(|at| at.as_str() == id);
        if !here || live.standing.released_ms.is_some() {
            return Err(Problem::NotFound);
        }
        live.about(reader.now_ms).ok_or(Problem::NotFound)?
    };
    let terms = state.terms.map(|terms| terms.set).ok_or(Problem::NotFound)?;
    let held = state.plan.map(|plan| plan.set).ok_or(Problem::NotFound)?;
    let meaning = Meaning::of(&plan, &terms, &held);
    if !meaning.lacks.is_empty() {
        let says = drawing::running_lacks(reader.lang, meaning.lacks.join(", "));
        return Err(Problem::Bad(says));
    }
    if !meaning.same {
        let (plan, terms) = fitted(&plan, &terms);
        let (plan_set, route_set) = plan_lines(&app, &plan).await?;
        let statements = vec![plan_set.into(), route_set.into(), terms.into()];
        app.scribe.write(&app, &watch, &caller.id, statements).await?;
    }
    Ok(Redirect::to(&format!("/sites/{id}/plan")))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn terms(gaps: &[(&str, u32)]) -> TermsSet {
        TermsSet {
            terms: Digest::of(b"terms"),
            gaps_s: gaps.iter().map(|(id, s)| (ZoneId::new(*id).unwrap(), *s)).collect(),
            first_round_s: None,
            people_at_least: 1,
            other_duties: false,
            retain_s: None,
        }
    }

    #[test]
    fn a_floor_that_appears_is_owed_the_strictest_gap_and_loosens_nothing() {
        let plan = Plan::simple("Gannet Quay", &["Ground", "Roof"], 3600);
        let (plan, terms) = fitted(&plan, &terms(&[("ground", 1800)]));
        assert_eq!((plan.zones[0].gap_s, plan.zones[1].gap_s), (1800, 1800));
        assert_eq!(terms.gaps_s[&ZoneId::new("roof").unwrap()], 1800);
    }

    #[test]
    fn a_plan_without_a_zone_that_is_owed_is_not_given() {
        let plan = Plan::simple("Gannet Quay", &["Ground"], 1800);
        let held = record::PlanSet {
            plan: Digest::of(b"before"),
            zones: Vec::new(),
            stops: Default::default(),
        };
        let meaning = Meaning::of(&plan, &terms(&[("ground", 1800), ("roof", 900)]), &held);
        assert_eq!(meaning.lacks, ["roof"]);
    }

    #[test]
    fn what_changed_is_said_by_name() {
        let before = Plan::simple("Gannet Quay", &["Ground", "Cellar"], 1800);
        let mut now = Plan::simple("Gannet Quay", &["Ground", "Roof"], 1800);
        now.zones[0].gap_s = 900;
        let said = changed(Lang::En, Some(&before), &now);
        assert_eq!(said[0], "New zones: Roof");
        assert_eq!(said[1], "Zones gone: Cellar");
        assert!(said[4].starts_with("Ground: longest gap 15"), "{said:?}");
        assert_eq!(changed(Lang::En, Some(&now), &now), ["Nothing changed."]);
    }
}
