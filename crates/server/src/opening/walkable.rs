//! Whether the rounds fit into the gaps, before anybody is sent.
//!
//! With a drawn plan the planner answers from measured walks. A place known only by its floors has
//! none; the times here are then our own defaults and are shown as such.

use floorplan::{Floors, Plan, Times};
use planner::ground::{Ground, Wish};
use planner::{Answer, Demands, Effort, Go, Question, answer};

/// Looking around and confirming on one floor or place, s (our own default).
const LOOK_S: u32 = 90;
/// From one floor or place to the next, s (our own default).
const WALK_S: u32 = 45;
/// The share of a gap that a plan may use; the rest is for writing, doors and delay (our own default).
const SHARE_PERCENT: u32 = 85;
/// Steps of the search while somebody waits on the telephone.
const STEPS: u64 = 60_000;
/// Plans with more stops are answered by `rattlewatch route`.
const STOPS_MAX: usize = 300;

/// What a round takes, and what it may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Walk {
    pub(super) round_s: u32,
    pub(super) allowed_s: u32,
    pub(super) guards: u32,
    /// From measured walks over a drawn plan.
    pub(super) measured: bool,
    /// No number of guards keeps it.
    pub(super) impossible: bool,
}

impl Walk {
    /// Over the stops of a plan.
    pub(super) fn over(plan: &Plan, gap_s: u32) -> Walk {
        measured(plan).unwrap_or_else(|| Walk::of(plan.zones.len(), gap_s))
    }

    /// Estimates a closed round over so many places.
    pub(super) fn of(places: usize, gap_s: u32) -> Walk {
        let places = places as u32;
        let round_s = places * (LOOK_S + WALK_S);
        let allowed_s = (u64::from(gap_s) * u64::from(SHARE_PERCENT) / 100) as u32;
        // Each guard walks a share of the places as a round of its own.
        let per_guard = (allowed_s / (LOOK_S + WALK_S)).max(1);
        let guards = places.div_ceil(per_guard).max(1);
        Walk { round_s, allowed_s, guards, measured: false, impossible: false }
    }

    /// Whether one guard can do it.
    pub(super) fn fits(&self) -> bool {
        self.guards <= 1 && !self.impossible
    }
}

fn measured(plan: &Plan) -> Option<Walk> {
    let demands = demands(plan)?;
    let question = Question {
        demands: &demands,
        from: None,
        guards: None,
        share_permille: i64::from(SHARE_PERCENT) * 10,
        may: &[],
        zones: &[],
    };
    let mut go_on = |_: planner::Progress| Go::On;
    let found = answer(&question, &mut Effort::new(1, STEPS, &mut go_on));
    let gap_s = demands.gap_ms.iter().min().copied().unwrap_or_default() / 1000;
    let allowed_s = u32::try_from(gap_s * i64::from(SHARE_PERCENT) / 100).unwrap_or(u32::MAX);
    let seconds = |ms: i64| u32::try_from(ms / 1000).unwrap_or(u32::MAX);
    Some(match found {
        Answer::Kept(kept) => Walk {
            round_s: seconds(kept.first_round_done_ms),
            allowed_s,
            guards: kept.plan.guards() as u32,
            measured: true,
            impossible: false,
        },
        // No plan found in so few steps proves nothing.
        Answer::TooFew { .. } => return None,
        Answer::Contradiction(_) => {
            Walk { round_s: 0, allowed_s, guards: 0, measured: true, impossible: true }
        }
    })
}

/// Stops, gaps and walks of a plan on which every stop is drawn.
fn demands(plan: &Plan) -> Option<Demands> {
    if plan.stops.is_empty() || plan.stops.len() > STOPS_MAX {
        return None;
    }
    let times = Times::usual(rules::site_limits()).ok()?;
    let floors = Floors::new(plan);
    let ground = Ground::new(plan, &floors, times, true);
    let wish = Wish { gap_ms: None, named: &[], viewpoints: false, look_ms: 0, sight_mm: 0.0 };
    let stations = ground.stations(&wish, &mut Effort::new(1, 0, &mut |_| Go::On)).ok()?;
    let walks = stations.demands.walks.closed();
    Some(Demands { walks, ..stations.demands })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tower_in_a_quarter_of_an_hour_needs_more_guards() {
        assert!(Walk::of(3, 1800).fits());
        // 15 min leave 765 s: five places of 135 s each.
        let tower = Walk::of(12, 900);
        assert_eq!((tower.round_s, tower.allowed_s, tower.guards), (1620, 765, 3));
        assert!(!tower.fits());
    }

    #[test]
    fn a_gap_shorter_than_one_place_still_counts_a_guard_each() {
        assert_eq!(Walk::of(4, 60).guards, 4);
    }

    #[test]
    fn a_plan_without_drawn_stops_is_estimated() {
        let plan = Plan::simple("Gannet Hotel", &["Floor 1", "Floor 2"], 1800);
        let walk = Walk::over(&plan, 1800);
        assert!(!walk.measured && walk.fits());
    }
}
