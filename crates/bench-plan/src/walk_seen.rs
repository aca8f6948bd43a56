//! `walk-seen MAP [--range R] --seconds T --seed S`: the shortest closed walk that sees all of a map within T seconds,
//! in the file's own units. Anyone can recompute length and sight from what is printed.

use crate::map::Map;
use crate::options::Options;
use anyhow::Result;
use planner::seeing::{Place, Scene, walk_that_sees};
use planner::{Effort, Go};
use std::time::{Duration, Instant};

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["range", "seconds", "seed"])?;
    let name = options.word("a map")?;
    let range: f64 = options.get("range", f64::INFINITY)?;
    let (seconds, seed): (f64, u64) = (options.get("seconds", 30.0)?, options.get("seed", 1)?);
    let began = Instant::now();
    let mesh = Map::read(name)?.mesh()?;
    let scene = Scene::single(&mesh, range);
    // A tenth is kept for the proof and the bound.
    let until = began + Duration::from_secs_f64(seconds * 0.9);
    let mut watch = |_| if Instant::now() < until { Go::On } else { Go::Stop };
    let mut effort = Effort::new(seed, u64::MAX, &mut watch);
    let walk = walk_that_sees(&scene, &mut effort);
    let plain =
        |places: &[Place]| -> Vec<[f64; 2]> { places.iter().map(|p| [p.at.x, p.at.y]).collect() };
    println!(
        "{}",
        serde_json::json!({
            "bench": "walk-seen", "map": name, "range": range.is_finite().then_some(range), "seconds": seconds, "seed": seed,
            "length": walk.length, "viewpoints": plain(&walk.viewpoints), "in_passing": walk.in_passing,
            "walk": plain(&walk.walk), "unseen_area": walk.unseen_area, "floor_area": walk.floor_area,
            "bound": walk.bound, "steps": effort.taken(), "took_s": began.elapsed().as_secs_f64(),
        })
    );
    Ok(())
}
