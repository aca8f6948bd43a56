//! `share FILE --guards M --seconds T --seed S`: the longest of M closed tours from node 1, unrounded.

use crate::options::Options;
use crate::stopwatch::Stopwatch;
use crate::tsplib;
use anyhow::{Result, ensure};
use planner::{Sharing, share, share_bound};

/// The search counts in this part of a unit.
const PARTS: f64 = 10_000.0;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["guards", "seconds", "seed"])?;
    let guards: usize = options.get("guards", 2)?;
    let seconds: f64 = options.get("seconds", 20.0)?;
    let seed: u64 = options.get("seed", 1)?;
    ensure!(guards > 0, "--guards must be at least 1");
    let instance = tsplib::read(options.word("a .tsp or mtsp file")?)?;
    let walks = instance.in_parts(PARTS);
    let n = walks.len();
    let stay = vec![0; n];
    let mut sharing = Sharing {
        walks: &walks,
        stay: &stay,
        post: Some(0),
        guards,
        good_enough: 0,
        caps: None,
        may: None,
    };
    // A bound rounded down by what the rounding of n + M legs can add.
    let bound = share_bound(&sharing, 2000).best() - (n + guards) as i64 / guards as i64;
    let star = share_bound(&sharing, 0).star;
    sharing.good_enough = star;
    let clock = Stopwatch::start(seconds);
    let (shared, steps) = clock.search(seed, |effort| {
        let shared = share(&sharing, effort);
        (shared, effort.taken())
    });
    let searched_s = clock.seconds();
    let longest = shared.rounds.iter().map(|r| length(&instance, r)).fold(0.0, f64::max);
    let farthest = (1..n).map(|s| 2.0 * instance.distance(0, s)).fold(0.0, f64::max);
    let tours: Vec<Vec<usize>> =
        shared.rounds.iter().map(|r| r.iter().map(|s| s + 1).collect()).collect();
    println!(
        "{}",
        serde_json::json!({
            "longest": longest, "tours": tours, "bound": farthest.max(bound as f64 / PARTS),
            "steps": steps, "seconds": searched_s, "seed": seed,
        })
    );
    Ok(())
}

fn length(instance: &tsplib::Instance, round: &[usize]) -> f64 {
    (0..round.len()).map(|i| instance.distance(round[i], round[(i + 1) % round.len()])).sum()
}
