//! `gaps FILE.tsp --scale K --high-every 5 --high-gap 600 --gap 1800 --speed 1.2 --stay 20 --seconds T`:
//! the fewest guards who keep every gap, with a proved bound. Node times are the ends of looks.

use crate::options::Options;
use crate::stopwatch::Stopwatch;
use crate::tsplib;
use anyhow::{Context, Result, ensure};
use planner::check::{Raw, check};
use planner::timetable::timetable;
use planner::{Demands, Walks, fewest};

const MS: f64 = 1000.0;
const OPTIONS: &[&str] =
    &["scale", "high-every", "high-gap", "gap", "speed", "stay", "seconds", "seed"];

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, OPTIONS)?;
    let demands = demands(&options)?;
    let seconds: f64 = options.get("seconds", 20.0)?;
    let clock = Stopwatch::start(seconds);
    let found = clock.search(options.get("seed", 1)?, |effort| fewest(&demands, effort));
    let searched_s = clock.seconds();
    let found = found.context("no number of guards keeps this: a stay is longer than its gap")?;
    let until = 3 * demands.gap_ms.iter().max().context("no stops")?;
    let looks = timetable(&demands, &found.plan, until);
    let n = demands.walks.len();
    let walk_ms: Vec<i64> = (0..n * n).map(|e| demands.walks.ms(e / n, e % n)).collect();
    let raw =
        Raw { walk_ms: &walk_ms, stay_ms: &demands.stay_ms, gap_ms: &demands.gap_ms, may: &[] };
    let broken = check(&raw, &looks, until);
    ensure!(broken.is_empty(), "the checker refuses the plan: {:?}", broken[0]);
    let schedule: Vec<Vec<(usize, f64)>> = looks
        .iter()
        .map(|g| g.iter().map(|l| (l.stop + 1, l.end_ms as f64 / MS)).collect())
        .collect();
    println!(
        "{}",
        serde_json::json!({
            "guards": found.plan.guards(), "bound": found.bound.guards,
            "class": found.plan.class().code(), "bound_class": "any", "ended": found.ended.code(),
            "because": format!("{:?}", found.bound.because),
            "schedule": schedule, "until_s": until as f64 / MS, "seconds": searched_s,
        })
    );
    Ok(())
}

fn demands(options: &Options) -> Result<Demands> {
    let instance = tsplib::read(options.word("a .tsp file")?)?;
    let scale: f64 = options.get("scale", 1.0)?;
    let speed: f64 = options.get("speed", 1.2)?;
    let every: usize = options.get("high-every", 5)?;
    let (high, gap): (f64, f64) = (options.get("high-gap", 600.0)?, options.get("gap", 1800.0)?);
    let stay: f64 = options.get("stay", 20.0)?;
    ensure!(speed > 0.0 && scale > 0.0 && high > 0.0 && gap > 0.0, "give numbers above 0");
    ensure!(stay >= 0.0, "--stay cannot be negative");
    let n = instance.points.len();
    let ms = |s: f64| (s * MS).round() as i64;
    let often = |i: usize| every > 0 && i.is_multiple_of(every);
    // Rounded up, so that a plan kept on paper is kept by feet.
    let walks =
        Walks::from_fn(n, |a, b| (instance.distance(a, b) * scale / speed * MS).ceil() as i64);
    Ok(Demands {
        walks: walks.closed(),
        stay_ms: vec![ms(stay); n],
        gap_ms: (0..n).map(|i| ms(if often(i) { high } else { gap })).collect(),
    })
}
