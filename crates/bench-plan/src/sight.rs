//! `sight MAP [--range R] --points N --seed S`: how many visibility regions a second one thread makes at random
//! places, point location included, and their mean area. Figures are in the file's own units.

use crate::map::Map;
use crate::options::Options;
use crate::random::{Random, places};
use anyhow::Result;
use geometry::Region;
use geometry::sweep::Scratch;
use std::time::Instant;

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["range", "points", "seed"])?;
    let name = options.word("a map")?;
    let range: f64 = options.get("range", f64::INFINITY)?;
    let (count, seed): (usize, u64) = (options.get("points", 1000)?, options.get("seed", 1)?);
    let map = Map::read(name)?;
    let began = Instant::now();
    let mesh = map.mesh()?;
    let mesh_ms = began.elapsed().as_secs_f64() * 1e3;
    let points = places(&mesh, count, &mut Random(seed));
    let (mut scratch, mut region) = (Scratch::default(), Region::default());
    let (mut rounds, mut found, mut pieces) = (0u32, 0, 0);
    let mut best = f64::INFINITY;
    let whole = Instant::now();
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
            "on_floor": found, "vertices": mesh.points.len(), "mesh_ms": mesh_ms, "floor_area": mesh.area,
            "regions_per_s": count as f64 / best, "mean_area": sum / count as f64,
            "mean_pieces": pieces as f64 / count as f64,
        })
    );
    Ok(())
}
