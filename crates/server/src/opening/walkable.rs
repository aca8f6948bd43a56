//! Whether the rounds fit into the gaps, before anybody is sent.
//!
//! With a drawn plan the planner answers from measured walks. A place known only by its floors has
//! none; the times here are then our own defaults and are shown as such.

use floorplan::{Floors, Limits, Network, Plan, Spot, Times};
use planner::{Answer, Demands, Effort, Go, NEVER, Question, Walks, answer};

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

macro_rules! walking {
    ($($name:literal,)*) => {
        &[$(($name, include_str!(concat!("../../../../standards/site/walking/", $name, ".toml"))),)*]
    };
}

/// The usual times of walking, each with its source.
const WALKING: &[(&str, &str)] =
    walking!["door", "inspect", "key", "level", "lift", "slope", "stair",];

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
    let spots: Option<Vec<Spot>> =
        plan.stops.iter().map(|s| Some(Spot { level: s.level.clone()?, at: s.at? })).collect();
    let spots = spots.filter(|spots| !spots.is_empty() && spots.len() <= STOPS_MAX)?;
    let times = Times::usual(&Limits::read(WALKING.iter().copied()).ok()?).ok()?;
    let floors = Floors::new(plan);
    let network = Network::new(plan, &floors, |passage| times.worth_mm(passage));
    let lengths = network.matrix(&spots);
    let n = spots.len();
    let walks = Walks::from_fn(n, |a, b| {
        let length = lengths[a * n + b];
        match length.is_finite() {
            true => libm::ceil(times.level_s(length) * 1000.0) as i64,
            false => i64::from(NEVER),
        }
    });
    let gap = |stop: &floorplan::Stop| Some(i64::from(plan.zone(&stop.zone)?.gap_s) * 1000);
    let gap_ms = plan.stops.iter().map(gap).collect::<Option<Vec<i64>>>()?;
    let stay = |s: &floorplan::Stop| s.inspect_s.map_or(times.inspect_s, i64::from) * 1000;
    let stay_ms = plan.stops.iter().map(stay).collect();
    Some(Demands { walks: walks.closed(), stay_ms, gap_ms })
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
