//! `walk-seen MAP [--range R] [--leave SHARE] --seconds T --seed S`: the shortest closed walk that sees all of a map, or all
//! but a share of it, within T seconds, in the file's own units. Anyone can recompute length and sight from what is printed.

use crate::map::Map;
use crate::options::Options;
use anyhow::Result;
use planner::seeing::{Place, Scene, Walk, walk_that_sees};
use planner::{Effort, Go};
use std::time::Instant;

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["range", "leave", "seconds", "seed"])?;
    let name = options.word("a map")?;
    let range: f64 = options.get("range", f64::INFINITY)?;
    let leave: f64 = options.get("leave", 0.0)?;
    let (seconds, seed): (f64, u64) = (options.get("seconds", 30.0)?, options.get("seed", 1)?);
    let began = Instant::now();
    let wall_s = || began.elapsed().as_secs_f64();
    let Searched { walk, steps, took_s } =
        searched(&Map::read(name)?, range, leave, seconds, seed, &wall_s)?;

    println!(
        "{}",
        serde_json::json!({
            "bench": "walk-seen", "map": name, "range": range.is_finite().then_some(range), "leave": leave, "seconds": seconds, "seed": seed,
            "length": walk.length, "viewpoints": plain(&walk.viewpoints), "in_passing": walk.in_passing,
            "walk": plain(&walk.walk), "unseen_area": walk.unseen_area, "floor_area": walk.floor_area,
            "bound": walk.bound, "bound_by": plain(&walk.bound_by), "steps": steps, "took_s": took_s,
        })
    );
    Ok(())
}

/// What a search found.
pub(crate) struct Searched {
    pub(crate) walk: Walk,
    pub(crate) steps: u64,
    /// Mesh, search, proof and bound, wall time.
    pub(crate) took_s: f64,
}

/// Searches for `seconds` by a clock, with everything: a tenth is kept for the proof and the bound.
pub(crate) fn searched(
    map: &Map,
    range: f64,
    leave: f64,
    seconds: f64,
    seed: u64,
    clock_s: &dyn Fn() -> f64,
) -> Result<Searched> {
    let began = clock_s();
    let mesh = map.mesh()?;
    let scene = Scene::single(&mesh, range).leaving(leave);
    let mut watch = |_| if clock_s() - began < seconds * 0.9 { Go::On } else { Go::Stop };
    let mut effort = Effort::new(seed, u64::MAX, &mut watch);
    let walk = walk_that_sees(&scene, &mut effort);
    Ok(Searched { walk, steps: effort.taken(), took_s: clock_s() - began })
}

/// Places as pairs.
pub(crate) fn plain(places: &[Place]) -> Vec<[f64; 2]> {
    places.iter().map(|p| [p.at.x, p.at.y]).collect()
}
