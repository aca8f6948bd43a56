//! The route card, for the pocket: the stops of each guard in walking order, the number to ring in a
//! fire, and a map of each level if the plan is drawn.

use crate::night::fonts::FAMILY;
use crate::page::Page;
use crate::sheets::{Block, Cards, Form, Table};
use floorplan::{LevelId, Plan, Spot};
use ledger::PersonId;
use picture::plan::Round;
use picture::{Over, paper_plan, plan_svg};
use record::{Party, StopId, ZoneId};
use words::{duration_words, paper_route as says};

/// Two by two stand on A4 and on Letter.
const WIDE_MM: u32 = 92;
const HIGH_MM: u32 = 126;
/// So many stops leave room for the heading and the number to ring.
const STOPS_A_CARD: usize = 8;

pub(crate) fn compose(page: &Page<'_>) -> Form {
    let mut form = page.card_form(says::title(page.lang()));
    let mut cards = Vec::new();
    for route in page.routes() {
        cards.extend(page.stop_cards(&route));
        cards.extend(page.map_cards(&mut form, &route));
    }
    form.blocks.push(Block::Cards(Cards { wide_mm: WIDE_MM, high_mm: HIGH_MM, columns: 2, cards }));
    form
}

/// One guard's way.
struct Route {
    guard: Option<PersonId>,
    stops: Vec<(StopId, Option<ZoneId>)>,
    legs_s: Vec<u32>,
    ordered: bool,
}

impl Page<'_> {
    /// Each guard's own route; the common one for whoever has none.
    fn routes(&self) -> Vec<Route> {
        let zones: std::collections::BTreeMap<StopId, ZoneId> = self.stops().into_iter().collect();
        let of = |set: &record::RouteSet, guard: Option<PersonId>| Route {
            guard,
            stops: set.stops.iter().map(|stop| (stop.clone(), zones.get(stop).cloned())).collect(),
            legs_s: set.legs_s.clone(),
            ordered: true,
        };
        let mut routes = Vec::new();
        let own: Vec<&record::RouteSet> =
            self.state.routes.iter().map(|r| &r.set).filter(|set| set.guard.is_some()).collect();
        routes.extend(own.iter().map(|set| of(set, set.guard.clone())));
        let common = self.state.routes.iter().map(|r| &r.set).find(|set| set.guard.is_none());
        let others: Vec<Option<PersonId>> = match self.guards() {
            guards if guards.is_empty() => vec![None],
            guards => guards.into_iter().map(Some).collect(),
        };
        for guard in others {
            if guard.is_some() && own.iter().any(|set| set.guard == guard) {
                continue;
            }
            routes.push(match common.filter(|set| !set.stops.is_empty()) {
                Some(set) => of(set, guard),
                None => Route {
                    guard,
                    stops: zones.iter().map(|(s, z)| (s.clone(), Some(z.clone()))).collect(),
                    legs_s: Vec::new(),
                    ordered: false,
                },
            });
        }
        routes
    }

    /// Guards of shifts and plans, in the order of their beginning.
    fn guards(&self) -> Vec<PersonId> {
        let mut guards: Vec<PersonId> = Vec::new();
        let planned = self.state.scheduled.iter().map(|planned| &planned.person);
        for guard in planned.chain(self.state.shifts.iter().map(|shift| &shift.who)) {
            if !guards.contains(guard) {
                guards.push(guard.clone());
            }
        }
        guards
    }

    fn stop_cards(&self, route: &Route) -> Vec<Vec<Block>> {
        let lang = self.lang();
        let parts: Vec<Vec<usize>> = match route.stops.len() {
            0 => vec![Vec::new()],
            n => (0..n).collect::<Vec<_>>().chunks(STOPS_A_CARD).map(<[_]>::to_vec).collect(),
        };
        let of = parts.len();
        let card = |(i, part): (usize, &Vec<usize>)| {
            let mut blocks = self.card_head(route);
            if of > 1 {
                blocks.push(Block::soft(says::more(lang, i + 1, of)));
            }
            if i == 0 {
                blocks.push(Block::soft(self.round_length(route)));
            }
            blocks.push(Block::Table(self.stop_rows(route, part)));
            blocks.extend(self.card_foot());
            blocks
        };
        parts.iter().enumerate().map(card).collect()
    }

    fn card_head(&self, route: &Route) -> Vec<Block> {
        let lang = self.lang();
        let title = match &route.guard {
            Some(guard) => says::route_of(lang, self.names.person(guard)),
            None => says::everybody(lang).to_owned(),
        };
        let mut blocks: Vec<Block> = self.warning().map(Block::soft).into_iter().collect();
        blocks.push(Block::soft(self.title()));
        blocks.push(Block::Large { says: title, size_pt: 13 });
        blocks
    }

    fn round_length(&self, route: &Route) -> String {
        let lang = self.lang();
        if route.stops.is_empty() {
            return says::no_stops(lang).to_owned();
        }
        if !route.ordered {
            return says::no_route(lang).to_owned();
        }
        let walk_s: i64 = route.legs_s.iter().map(|s| i64::from(*s)).sum();
        let plan = self.request.documents.plan.as_ref();
        let look = |stop: &StopId| {
            let id = floorplan::StopId::new(stop.as_str()).ok()?;
            plan?.stop(&id)?.inspect_s
        };
        let look_s: i64 =
            route.stops.iter().filter_map(|(stop, _)| look(stop)).map(i64::from).sum();
        match (walk_s, look_s) {
            (0, _) => says::round_unknown(lang).to_owned(),
            (_, 0) => says::round_walk(lang, duration_words(walk_s)),
            _ => says::round(lang, duration_words(look_s), duration_words(walk_s)),
        }
    }

    fn stop_rows(&self, route: &Route, part: &[usize]) -> Table {
        let lang = self.lang();
        let row = |i: &usize| {
            let (stop, zone) = &route.stops[*i];
            let gap = zone.as_ref().and_then(|zone| self.state.zone(zone)?.gap_s);
            let walk = route.legs_s.get(*i).map(|s| duration_words(i64::from(*s)));
            vec![
                (i + 1).to_string(),
                self.names.stop(stop).to_owned(),
                walk.unwrap_or_default(),
                gap.map(|s| duration_words(i64::from(s))).unwrap_or_default(),
            ]
        };
        Table {
            head: [
                says::head_number(lang).to_owned(),
                says::head_stop(lang).to_owned(),
                says::head_walk(lang).to_owned(),
                says::head_gap(lang).to_owned(),
            ]
            .to_vec(),
            wide: vec![1],
            widest: None,
            mono: vec![0, 2, 3],
            rows: part.iter().map(row).collect(),
            blank: if part.is_empty() { STOPS_A_CARD } else { 0 },
        }
    }

    /// What to do in a fire, on every card.
    fn card_foot(&self) -> Vec<Block> {
        let lang = self.lang();
        let mut blocks = Vec::new();
        let fire = match self.emergency_number() {
            Some(number) => says::fire(lang, number),
            None => says::fire_blank(lang).to_owned(),
        };
        blocks.push(Block::Large { says: fire, size_pt: 10 });
        let place = [Some(self.title()), self.address()];
        let place: Vec<String> = place.into_iter().flatten().collect();
        blocks.push(Block::soft(says::say(lang, place.join(", "))));
        let parties = [Party::Dispatcher, Party::Supervisor];
        let numbers: Vec<String> = parties
            .into_iter()
            .filter_map(|party| self.contact(party))
            .map(|contact| says::number_of(lang, &contact.name, &contact.number))
            .collect();
        if !numbers.is_empty() {
            blocks.push(Block::soft(numbers.join(" · ")));
        }
        blocks
    }

    /// One card for each level on which the plan is drawn and the route has a stop.
    fn map_cards(&self, form: &mut Form, route: &Route) -> Vec<Vec<Block>> {
        let lang = self.lang();
        let Some(plan) = &self.request.documents.plan else { return Vec::new() };
        let walks = walks(plan, &route.stops);
        let mut cards = Vec::new();
        for level in &plan.levels {
            let labels = labels(plan, &route.stops, &level.id);
            if labels.is_empty() {
                continue;
            }
            let here = walks.iter().filter(|(of, _)| *of == level.id);
            let name = match &route.guard {
                Some(guard) => self.names.person(guard).to_owned(),
                None => says::everybody(lang).to_owned(),
            };
            let lines = here.map(|(_, way)| way.clone()).collect();
            let stop_names = labels
                .iter()
                .map(|(at, number)| {
                    let stop = &route.stops[number - 1].0;
                    (*at, *number, self.names.stop(stop).to_owned())
                })
                .collect();
            let rounds = vec![Round { name, lines, stops: labels }];
            let over = Over { rounds, stop_names, ..Over::exact() };
            let Some(svg) = plan_svg(plan, &level.id, &over) else { continue };
            let alt = says::map_says(lang, &level.name);
            let file = format!("map-{}-{}.svg", cards.len(), form.pictures.len());
            form.pictures.insert(file.clone(), paper_plan(&svg, FAMILY).into_bytes());
            let mut blocks = self.card_head(route);
            blocks.push(Block::soft(says::map(lang, &level.name)));
            blocks.push(Block::Picture { file, alt, wide_mm: WIDE_MM - 8 });
            blocks.extend(self.card_foot());
            cards.push(blocks);
        }
        cards
    }
}

fn stop_of<'p>(plan: &'p Plan, stop: &StopId) -> Option<&'p floorplan::Stop> {
    plan.stop(&floorplan::StopId::new(stop.as_str()).ok()?)
}

/// The numbers of the stops at their places.
fn labels(
    plan: &Plan,
    stops: &[(StopId, Option<ZoneId>)],
    level: &LevelId,
) -> Vec<(floorplan::Point, usize)> {
    let number = |(i, (stop, _)): (usize, &(StopId, Option<ZoneId>))| {
        let stop = stop_of(plan, stop)?;
        let at = stop.at.filter(|_| stop.level.as_ref() == Some(level))?;
        Some((at, i + 1))
    };
    stops.iter().enumerate().filter_map(number).collect()
}

/// The way from stop to stop and back, as pieces of line level by level.
fn walks(plan: &Plan, stops: &[(StopId, Option<ZoneId>)]) -> Vec<(LevelId, Vec<floorplan::Point>)> {
    let spot = |stop: &floorplan::Stop| Some(Spot { level: stop.level.clone()?, at: stop.at? });
    let drawn = stops.iter().filter_map(|(stop, _)| spot(stop_of(plan, stop)?));
    let drawn: Vec<Option<Spot>> = drawn.map(Some).collect();
    floorplan::walked(plan, &drawn).into_iter().flatten().collect()
}
