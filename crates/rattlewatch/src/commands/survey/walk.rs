//! The closed walk from which all of the floor is seen.

use anyhow::{Result, ensure};
use floorplan::floor::whole;
use floorplan::network::walked;
use floorplan::{Floors, LevelId, Limits, Network, Plan, Point};
use planner::seeing::{Place, Scene, Walk, walk_that_sees};
use planner::{Effort, Go, Progress};
use std::time::{Duration, Instant};

/// A walk over a plan's levels.
pub(super) struct Seen {
    pub(super) walk: Walk,
    /// Floor that the walk cannot reach, in mm².
    pub(super) apart_mm2: f64,
    pub(super) sight_m: f64,
    /// The level of each of the walk's floors.
    pub(super) levels: Vec<LevelId>,
}

impl Seen {
    #[expect(
        clippy::disallowed_methods,
        reason = "the command line is where the clock may stop a search"
    )]
    pub(super) fn search(
        plan: &Plan,
        limits: &Limits,
        sight_m: f64,
        seconds: f64,
        seed: u64,
    ) -> Result<Self> {
        ensure!(sight_m > 0.0 && sight_m <= 1e4, "--sight must be above 0 and at most 10000 m");
        ensure!(seconds.is_finite() && seconds >= 0.0, "--seconds must be 0 or more");
        let (begun, limit) = (Instant::now(), Duration::from_secs_f64(seconds.min(1e6)));
        let floors = Floors::new(plan);
        let slope = limits.usual("stair-slope")? as f64 / 1e3;
        let network = Network::new(plan, &floors, |passage| walked(passage, slope));
        let scene = Scene::of_plan(plan, &floors, &network, sight_m * 1e3);
        let mut watcher = |_: Progress| if begun.elapsed() >= limit { Go::Stop } else { Go::On };
        let walk = walk_that_sees(&scene, &mut Effort::new(seed, u64::MAX, &mut watcher));
        let levels = floors.floors.iter().map(|floor| floor.level.clone()).collect();
        Ok(Self { walk, apart_mm2: scene.apart_area(), sight_m, levels })
    }

    /// The pieces of the walk on a level, and where one looks there.
    pub(super) fn on(&self, level: &LevelId) -> (Vec<Vec<Point>>, Vec<Point>) {
        let here = |place: &Place| self.levels.get(place.floor) == Some(level);
        let (mut pieces, mut open): (Vec<Vec<Point>>, bool) = (Vec::new(), false);
        for place in &self.walk.walk {
            match pieces.last_mut() {
                Some(piece) if open && here(place) => piece.push(whole(place.at)),
                _ if here(place) => pieces.push(vec![whole(place.at)]),
                _ => {}
            }
            open = here(place);
        }
        let viewpoints = self.walk.viewpoints.iter().filter(|place| here(place));
        (pieces, viewpoints.map(|place| whole(place.at)).collect())
    }
}
