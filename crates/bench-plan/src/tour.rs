//! `tour FILE.tsp --seconds T --seed S`: one closed tour, by the file's own rounding.

use crate::options::Options;
use crate::stopwatch::Stopwatch;
use crate::tsplib;
use anyhow::Result;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["seconds", "seed"])?;
    let seconds: f64 = options.get("seconds", 10.0)?;
    let seed: u64 = options.get("seed", 1)?;
    let walks = tsplib::read(options.word("a .tsp file")?)?.rounded();
    let clock = Stopwatch::start(seconds);
    let (tour, steps) = clock.search(seed, |effort| {
        let tour = planner::tour(&walks, effort);
        (tour, effort.taken())
    });
    let searched_s = clock.seconds();
    let bound = planner::tour_bound(&walks, tour.length, 2000);
    let order: Vec<usize> = tour.order.iter().map(|a| a + 1).collect();
    println!(
        "{}",
        serde_json::json!({
            "length": tour.length, "tour": order, "bound": bound,
            "steps": steps, "seconds": searched_s, "seed": seed,
        })
    );
    Ok(())
}
