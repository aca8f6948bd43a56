//! Where somebody must look, how long that takes, and how long the walks between are.

use floorplan::Plan;
use planner::{Demands, Effort, Go, NEVER, Progress, Walks};
use record::{StopId, ZoneId};
use rules::Walked;
use std::collections::BTreeMap;

/// Looking around and confirming on one floor or place that is not drawn, s (our own default).
const LOOK_S: u32 = 90;
/// From one place of a list to the next, s (our own default).
const WALK_S: u32 = 45;
/// More stops than a page can wait for; `rattlewatch route` answers for them.
const STOPS_MAX: usize = 300;

/// Steps of the search for the shortest round.
const TOUR_STEPS: u64 = 20_000;
/// Steps for each stop after which a round that became no shorter is taken: fifty zones in one stack would else take
/// seconds of every opening.
const IDLE_STEPS: u64 = 40;

/// One place of a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Place {
    pub(crate) stop: StopId,
    pub(crate) name: String,
    pub(crate) zone: ZoneId,
    pub(crate) zone_name: String,
}

/// The places of a plan and what is demanded of each, in the same order.
#[derive(Debug, Clone)]
pub(crate) struct Places {
    pub(crate) list: Vec<Place>,
    pub(crate) demands: Demands,
    /// Walks over a drawn plan; else they are estimated from the order of the list.
    pub(crate) measured: bool,
    /// The walks before recorded legs set them right.
    pub(super) computed: Walks,
    /// What recorded legs say.
    pub(super) walked: Walked,
}

impl Places {
    /// The stops of a plan. A zone that the terms name is owed their gap, every other the plan's own. None if there is
    /// nothing to walk to, or more than a page can wait for.
    pub(crate) fn of(plan: &Plan, gaps_s: &BTreeMap<ZoneId, u32>) -> Option<Places> {
        let list: Vec<Place> = plan.stops.iter().filter_map(|stop| place(plan, stop)).collect();
        if list.is_empty() || list.len() != plan.stops.len() || list.len() > STOPS_MAX {
            return None;
        }
        let (measured, mut demands) = match measured(plan) {
            Some(demands) => (true, demands),
            None => (false, estimated(plan)),
        };
        for (place, gap_ms) in list.iter().zip(&mut demands.gap_ms) {
            if let Some(gap_s) = gaps_s.get(&place.zone) {
                *gap_ms = i64::from(*gap_s) * 1000;
            }
        }
        let computed = demands.walks.clone();
        Some(Places { list, demands, measured, computed, walked: Walked::default() })
    }

    /// The shortest closed round over everything.
    pub(crate) fn shortest_round(&self) -> Vec<usize> {
        let idle_max = IDLE_STEPS * self.list.len() as u64;
        let (mut best, mut better_at) = (i64::MAX, 0);
        let mut go_on = |now: Progress| {
            if now.best < best {
                (best, better_at) = (now.best, now.steps);
            }
            if now.steps - better_at < idle_max { Go::On } else { Go::Stop }
        };
        planner::tour(&self.demands.walks, &mut Effort::new(1, TOUR_STEPS, &mut go_on)).order
    }

    /// The number of a stop.
    pub(crate) fn number(&self, stop: &str) -> Option<usize> {
        self.list.iter().position(|place| place.stop.as_str() == stop)
    }

    /// The zones, each once, with their names.
    pub(crate) fn zones(&self) -> BTreeMap<&ZoneId, &str> {
        self.list.iter().map(|place| (&place.zone, place.zone_name.as_str())).collect()
    }

    /// What every stop is called.
    pub(crate) fn names(&self) -> Vec<&str> {
        self.list.iter().map(|place| place.name.as_str()).collect()
    }

    /// Walking time to each stop of a round from the one before as computed over the plan, s, the first from the last;
    /// empty where walks are only estimated or no way leads, since the record must not hold a guard against a guess, nor
    /// against what others needed.
    pub(crate) fn legs_s(&self, round: &[usize]) -> Vec<u32> {
        let legs = legs_ms(&self.computed, round);
        if !self.measured || legs.iter().any(|ms| is_no_way(*ms)) {
            return Vec::new();
        }
        legs.iter().map(|ms| u32::try_from((ms + 999) / 1000).unwrap_or(u32::MAX)).collect()
    }

    /// Walking time to each stop of a round from the one before, ms; see [`is_no_way`].
    pub(crate) fn legs_ms(&self, round: &[usize]) -> Vec<i64> {
        legs_ms(&self.demands.walks, round)
    }
}

fn legs_ms(walks: &Walks, round: &[usize]) -> Vec<i64> {
    let before = round.iter().cycle().skip(round.len().saturating_sub(1));
    before.zip(round).map(|(&a, &b)| walks.ms(a, b)).collect()
}

/// Whether this walk is none: the plan shows no way.
pub(crate) fn is_no_way(walk_ms: i64) -> bool {
    walk_ms >= i64::from(NEVER)
}

fn place(plan: &Plan, stop: &floorplan::Stop) -> Option<Place> {
    let zone_name = plan.zone(&stop.zone).map(|zone| zone.name.clone()).unwrap_or_default();
    Some(Place {
        stop: StopId::new(stop.id.as_str()).ok()?,
        name: stop.name.clone(),
        zone: ZoneId::new(stop.zone.as_str()).ok()?,
        zone_name,
    })
}

/// Walks over the drawn plan, if every stop is drawn.
fn measured(plan: &Plan) -> Option<Demands> {
    let demands = rules::walked::demands_of(plan)?;
    Some(Demands { walks: demands.walks.closed(), ..demands })
}

/// A place known only by its list: one after the other, and back the same way.
fn estimated(plan: &Plan) -> Demands {
    let n = plan.stops.len();
    let ms = |s: u32| i64::from(s) * 1000;
    let walks = Walks::from_fn(n, |a, b| a.abs_diff(b) as i64 * ms(WALK_S));
    let gap = |stop: &floorplan::Stop| plan.zone(&stop.zone).map_or(1800, |zone| zone.gap_s);
    Demands {
        walks,
        stay_ms: plan.stops.iter().map(|stop| ms(stop.inspect_s.unwrap_or(LOOK_S))).collect(),
        gap_ms: plan.stops.iter().map(|stop| ms(gap(stop))).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_floors_is_walked_up_and_down_and_the_terms_say_how_often() {
        let plan = Plan::simple("Gannet Hotel", &["Cellar", "Ground", "Attic"], 1800);
        let gaps = BTreeMap::from([(ZoneId::new("attic").unwrap(), 900)]);
        let places = Places::of(&plan, &gaps).unwrap();
        assert!(!places.measured);
        assert_eq!(places.demands.walks.ms(0, 2), 90_000);
        assert_eq!(places.demands.gap_ms, [1_800_000, 1_800_000, 900_000]);
        assert!(places.legs_s(&[0, 1, 2]).is_empty(), "a guess is no walking time");
        assert_eq!((places.number("attic"), places.number("roof")), (Some(2), None));
    }

    #[test]
    fn a_plan_without_stops_has_no_rounds() {
        assert!(Places::of(&Plan::new("Yard"), &BTreeMap::new()).is_none());
    }
}
