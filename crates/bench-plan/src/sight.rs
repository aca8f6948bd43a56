//! `sight MAP [--range R] --points N --seed S`: how many visibility regions a second one thread makes at random
//! places, point location included, and their mean area. Figures are in the file's own units; rates are also given by
//! processor time, which others on the machine do not change.

mod hard;

use crate::machine::thread_cpu_s;
use crate::map::Map;
use crate::options::Options;
use crate::random::{Random, places};
use anyhow::{Context, Result};
use geometry::Region;
use geometry::sweep::Scratch;
use std::time::Instant;

/// The mesh is made so often; the quickest counts.
const MESHES: usize = 5;

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["range", "points", "seed", "hard", "judged"])?;
    let name = options.word("a map")?;
    let range: f64 = options.get("range", f64::INFINITY)?;
    let (count, seed): (usize, u64) = (options.get("points", 1000)?, options.get("seed", 1)?);
    let hard: usize = options.get("hard", 0)?;
    if hard > 0 {
        return hard::run(name, hard, options.get("judged", 100)?, seed);
    }
    let map = Map::read(name)?;
    let (mut mesh_ms, mut mesh_cpu_ms) = (f64::INFINITY, f64::INFINITY);
    let mut mesh = None;
    for _ in 0..MESHES {
        let (began, cpu_s) = (Instant::now(), thread_cpu_s()?);
        mesh = Some(map.mesh()?);
        mesh_ms = mesh_ms.min(began.elapsed().as_secs_f64() * 1e3);
        mesh_cpu_ms = mesh_cpu_ms.min((thread_cpu_s()? - cpu_s) * 1e3);
    }
    let mesh = mesh.context("a mesh was made")?;
    let points = places(&mesh, count, &mut Random(seed));
    let (mut scratch, mut region) = (Scratch::default(), Region::default());
    let (mut rounds, mut found, mut pieces) = (0u32, 0, 0);
    let mut best = f64::INFINITY;
    let (whole, cpu_s) = (Instant::now(), thread_cpu_s()?);
    // The best of several rounds: others may be using the machine.
    while rounds < 5 || (whole.elapsed().as_secs_f64() < 1.0 && rounds < 200) {
        let began = Instant::now();
        found = 0;
        for &p in &points {
            found += usize::from(mesh.region_into(p, range, &mut scratch, &mut region));
        }
        best = best.min(began.elapsed().as_secs_f64());
        rounds += 1;
    }
    let cpu_s = thread_cpu_s()? - cpu_s;
    let mut sum = 0.0;
    for &p in &points {
        mesh.region_into(p, range, &mut scratch, &mut region);
        sum += region.area();
        pieces += region.pieces.len();
    }
    println!(
        "{}",
        serde_json::json!({
            "bench": "sight", "map": name, "range": range.is_finite().then_some(range), "points": count, "seed": seed,
            "on_floor": found, "vertices": mesh.points.len(), "mesh_ms": mesh_ms, "mesh_cpu_ms": mesh_cpu_ms, "floor_area": mesh.area,
            "regions_per_s": count as f64 / best, "regions_per_cpu_s": count as f64 * f64::from(rounds) / cpu_s, "mean_area": sum / count as f64,
            "mean_pieces": pieces as f64 / count as f64,
        })
    );
    Ok(())
}
