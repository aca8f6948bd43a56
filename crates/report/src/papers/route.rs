//! The route card, for the pocket: the stops of each guard in walking order, the number to ring in a
//! fire, and a map of each level if the plan is drawn.

use crate::night::fonts::FAMILY;
use crate::page::Page;
use crate::sheets::{Block, Cards, Form, Table};
use floorplan::{Plan, Spot};
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
        let of = |guard: Option<PersonId>| {
            let route = self.state.route_of(guard.as_ref()).map(|route| &route.set);
            match route.filter(|set| set.guard.is_some() || !set.stops.is_empty()) {
                Some(set) => Route {
                    guard,
                    stops: (set.stops.iter())
                        .map(|stop| (stop.clone(), zones.get(stop).cloned()))
                        .collect(),
                    legs_s: set.legs_s.clone(),
                    ordered: true,
                },
                None => Route {
                    guard,
                    stops: zones.iter().map(|(s, z)| (s.clone(), Some(z.clone()))).collect(),
                    legs_s: Vec::new(),
                    ordered: false,
                },
            }
        };
        let mut guards: Vec<Option<PersonId>> =
            self.state.routes.iter().map(|route| route.set.guard.clone()).collect();
        guards.retain(Option::is_some);
        for guard in self.guards().into_iter().map(Some) {
            if !guards.contains(&guard) {
                guards.push(guard);
            }
        }
        if guards.is_empty() {
            guards.push(None);
        }
        guards.into_iter().map(of).collect()
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
        let spot = |stop: &floorplan::Stop| Some(Spot { level: stop.level.clone()?, at: stop.at? });
        let places: Vec<Option<Spot>> =
            route.stops.iter().map(|(stop, _)| spot(stop_of(plan, stop)?)).collect();
        let walks = floorplan::walked(plan, &places);
        let mut cards = Vec::new();
        for level in &plan.levels {
            let name = match &route.guard {
                Some(guard) => self.names.person(guard).to_owned(),
                None => says::everybody(lang).to_owned(),
            };
            let round = Round::on(&level.id, name, &places, &walks);
            if round.stops.is_empty() {
                continue;
            }
            let named = |(at, number): &(floorplan::Point, usize)| {
                let stop = &route.stops[number - 1].0;
                (*at, *number, self.names.stop(stop).to_owned())
            };
            let stop_names = round.stops.iter().map(named).collect();
            let rounds = vec![round];
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
