//! Whether the rounds fit into the gaps, before anybody is sent.

use super::known::{Known, about_guards};
use super::plan::shortest_round;
use crate::rounds::{Places, SHARE_PERCENT, work};
use floorplan::Plan;
use planner::Answer;
use planner::share::round_length;
use record::ZoneId;
use std::collections::BTreeMap;

/// Looking at one place and walking on to the next, s: for plans too large to be answered while somebody waits (our own
/// default).
const PLACE_S: u32 = 135;

/// What a round takes, and what it may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Walk {
    /// One guard over everything.
    pub(super) round_s: u32,
    pub(super) guards: u32,
    /// From measured walks over a drawn plan.
    pub(super) measured: bool,
    /// No number of guards keeps it.
    pub(super) impossible: bool,
}

impl Walk {
    /// Over the stops of a plan, each owed a look as often as the terms say.
    pub(super) fn over(plan: &Plan, gaps_s: &BTreeMap<ZoneId, u32>, least_s: u32) -> Walk {
        let places = Places::of(plan, gaps_s);
        places.and_then(known).unwrap_or_else(|| Walk::roughly(plan.zones.len(), least_s))
    }

    /// Each guard walks a share of the places as a round of its own.
    fn roughly(places: usize, gap_s: u32) -> Walk {
        let places = places as u32;
        let allowed_s = u64::from(gap_s) * SHARE_PERCENT as u64 / 100;
        let per_guard = (allowed_s as u32 / PLACE_S).max(1);
        let guards = places.div_ceil(per_guard).max(1);
        Walk { round_s: places * PLACE_S, guards, measured: false, impossible: false }
    }

    /// Whether one guard can do it.
    pub(super) fn fits(&self) -> bool {
        self.guards <= 1 && !self.impossible
    }
}

static WALKS: Known<Option<Walk>> = Known::new();

/// The answer, searched for once as long as no walk, no look and no gap changes.
fn known(places: Places) -> Option<Walk> {
    WALKS.or(about_guards(&places), || answered(places))
}

/// None where no plan was found in so few steps, which proves nothing.
fn answered(places: Places) -> Option<Walk> {
    let worked = work(places, None);
    let (places, demands) = (&worked.places, &worked.places.demands);
    let alone = shortest_round(places);
    let length_ms = round_length(&demands.walks, &demands.stay_ms, &alone);
    let (guards, impossible) = match &worked.answer {
        Answer::Kept(kept) => (kept.plan.guards() as u32, false),
        Answer::TooFew { .. } => return None,
        Answer::Contradiction(_) => (0, true),
    };
    let round_s = u32::try_from((length_ms + 999) / 1000).unwrap_or(u32::MAX);
    Some(Walk { round_s, guards, measured: places.measured, impossible })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn floors(count: usize, gap_s: u32) -> Walk {
        let names: Vec<String> = (1..=count).map(|n| format!("Floor {n}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let plan = Plan::simple("Gannet Hotel", &names, gap_s);
        Walk::over(&plan, &BTreeMap::new(), gap_s)
    }

    #[test]
    fn a_tower_in_a_quarter_of_an_hour_needs_more_guards() {
        let two = floors(2, 1800);
        assert!(two.fits() && !two.measured);
        // Twelve floors: 12 · 90 s of looking, 11 · 45 s up and as much down.
        let tower = floors(12, 900);
        assert_eq!(tower.round_s, 12 * 90 + 22 * 45);
        // 15 min leave 765 s; k floors of one guard take 90 k + 90 (k - 1), so four at most.
        assert_eq!(tower.guards, 3);
        assert!(!tower.fits());
    }

    /// The second answer comes from the first; what is changed in between is never taken for the same.
    #[test]
    fn an_answer_that_is_known_is_the_one_that_a_search_gives() {
        let plans = [(12, 900), (12, 1800), (13, 900), (12, 900), (13, 900), (12, 1800)];
        for (count, gap_s) in plans {
            let names: Vec<String> = (1..=count).map(|n| format!("Floor {n}")).collect();
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let mut plan = Plan::simple("Gannet Hotel", &names, gap_s);
            for look_s in [60, 120] {
                plan.stops[0].inspect_s = Some(look_s);
                let searched = Places::of(&plan, &BTreeMap::new()).and_then(answered);
                assert_eq!(Some(Walk::over(&plan, &BTreeMap::new(), gap_s)), searched);
            }
            let strict = BTreeMap::from([(ZoneId::new("floor-1").unwrap(), gap_s / 2)]);
            let searched = Places::of(&plan, &strict).and_then(answered);
            assert_eq!(Some(Walk::over(&plan, &strict, gap_s / 2)), searched);
        }
    }

    #[test]
    fn a_look_longer_than_its_gap_is_for_nobody() {
        let walk = floors(4, 60);
        assert!(walk.impossible && !walk.fits());
    }

    #[test]
    fn a_plan_too_large_to_wait_for_is_reckoned_roughly() {
        let walk = floors(301, 1800);
        assert!(!walk.measured && walk.guards >= 28, "{walk:?}");
    }
}
