//! What the places of the watch on the screen are called, and in which order they are walked.

use crate::model::Model;
use floorplan::{LevelId, Plan, Stop};
use ledger::PersonId;
use record::documents::{Leg, SiteCard};
use record::{StopId, ZoneId};
use std::sync::Arc;
use watch::State;

/// Names and order. Where the plan has not come down yet, ids stand in for names, so that a round can
/// begin without it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Site<'a> {
    state: &'a State,
    plan: Option<&'a Arc<Plan>>,
    card: Option<&'a SiteCard>,
}

impl<'a> Site<'a> {
    /// None before the watch's opening is known.
    pub(crate) fn of(model: &'a Model, state: &'a State) -> Option<Site<'a>> {
        let opening = state.opening.as_ref()?;
        let plan = state.plan.as_ref().and_then(|plan| model.documents.plan(&plan.set.plan));
        Some(Site { state, plan, card: model.documents.card(&opening.card) })
    }

    /// The site's name.
    pub(crate) fn name(&self) -> String {
        let from_plan = || self.plan.map(|plan| plan.name.clone());
        let from_opening = || self.state.opening.as_ref().map(|o| spelled(o.site.as_str()));
        let card = self.card.map(|card| card.name.clone());
        card.or_else(from_plan).or_else(from_opening).unwrap_or_default()
    }

    /// The level that a stop stands on, if something is drawn on it.
    pub(crate) fn level_drawn(&self, stop: &StopId) -> Option<&'a LevelId> {
        let level = self.place(stop)?.level.as_ref()?;
        self.plan?.rooms.iter().find(|room| room.level == *level)?;
        Some(level)
    }

    /// The plan.
    pub(crate) fn plan(&self) -> Option<&'a Arc<Plan>> {
        self.plan
    }

    /// A stop as the plan has it.
    pub(crate) fn place(&self, stop: &StopId) -> Option<&'a Stop> {
        self.plan?.stops.iter().find(|s| s.id.as_str() == stop.as_str())
    }

    /// The legs of the round that is walked, where they were issued and have come down.
    pub(crate) fn legs(&self, model: &'a Model, guard: Option<&PersonId>) -> &'a [Leg] {
        let route = self.state.route_of(guard).and_then(|route| route.set.route);
        let route = route.and_then(|digest| model.documents.route(&digest));
        route.map_or(&[], |route| &route.legs)
    }

    /// The site card.
    pub(crate) fn card(&self) -> Option<&'a SiteCard> {
        self.card
    }

    /// What a stop is called.
    pub(crate) fn stop(&self, stop: &StopId) -> String {
        let plan =
            self.plan.and_then(|plan| plan.stops.iter().find(|s| s.id.as_str() == stop.as_str()));
        plan.map_or_else(|| spelled(stop.as_str()), |stop| stop.name.clone())
    }

    /// What a zone is called.
    pub(crate) fn zone(&self, zone: &ZoneId) -> String {
        let plan =
            self.plan.and_then(|plan| plan.zones.iter().find(|z| z.id.as_str() == zone.as_str()));
        plan.map_or_else(|| spelled(zone.as_str()), |zone| zone.name.clone())
    }

    /// The level a stop stands on, where the plan has levels.
    pub(crate) fn level(&self, stop: &StopId) -> Option<String> {
        let plan = self.plan?;
        let level = plan.stops.iter().find(|s| s.id.as_str() == stop.as_str())?.level.as_ref()?;
        plan.levels.iter().find(|l| l.id == *level).map(|level| level.name.clone())
    }

    /// The stops of one round in the order in which they are walked: the guard's own route, else
    /// everybody's, else the plan's.
    pub(crate) fn stops(&self, guard: Option<&PersonId>) -> Vec<(StopId, ZoneId)> {
        let Some(set) = self.state.plan.as_ref().map(|plan| &plan.set) else { return Vec::new() };
        let zone_of = |stop: &StopId| set.stops.get(stop).cloned();
        let walked: Vec<StopId> = match (self.state.route_of(guard), self.plan) {
            (Some(route), _) if !route.set.stops.is_empty() => route.set.stops.clone(),
            (_, Some(plan)) => {
                plan.stops.iter().filter_map(|stop| StopId::new(stop.id.as_str()).ok()).collect()
            }
            _ => set.stops.keys().cloned().collect(),
        };
        walked.into_iter().filter_map(|stop| Some((stop.clone(), zone_of(&stop)?))).collect()
    }

    /// Where and when somebody was last recorded as seen: the stop's name and the time, ms UTC.
    pub(crate) fn last_seen(&self, state: &State) -> Option<(String, i64)> {
        let looks =
            state.zones.iter().flat_map(|zone| zone.looks.iter().map(move |look| (zone, look)));
        let (zone, look) = looks.max_by_key(|(_, look)| look.written.when.at_ms)?;
        let name = look.stop.as_ref().map_or_else(|| self.zone(&zone.id), |stop| self.stop(stop));
        Some((name, look.written.when.at_ms))
    }
}

/// An id read as words: `stair-b-7` as `Stair b 7`.
fn spelled(id: &str) -> String {
    let words = id.replace(['-', '_', '.'], " ");
    let mut letters = words.chars();
    let first = letters.next().map(|first| first.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}
