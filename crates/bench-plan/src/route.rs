//! `route FILE --gap S --high ZONE --high-gap S --see-all 1 --seconds T`: a whole real building from its drawing to the
//! checked rounds, with the time of each part. The file lies below the data root's `indoor` folder.

use crate::import;
use crate::options::Options;
use crate::stopwatch::Stopwatch;
use crate::survey::limits;
use anyhow::{Result, ensure};
use floorplan::{Floors, Times};
use planner::answer::{Answer, Question, USUAL_SHARE_PERMILLE, answer, written_out};
use planner::ground::{Ground, Wish};

const OPTIONS: &[&str] = &["gap", "high", "high-gap", "see-all", "seconds", "seed"];

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, OPTIONS)?;
    let file = options.word("a drawing").unwrap_or("osm-tud-apb.geojson");
    let (seconds, seed) = (options.get("seconds", 20.0)?, options.get("seed", 1)?);
    let limits = limits()?;
    let clock = Stopwatch::start(seconds * 0.45);
    let plan = import::read(file)?.plan;
    let (floors, times) = (Floors::new(&plan), Times::usual(&limits)?);
    let ground = Ground::new(&plan, &floors, times, true);
    let laid_out_s = clock.seconds();
    let high: String = options.get("high", "level-0".to_owned())?;
    let named = [(high, options.get("high-gap", 900)? * 1000)];
    let wish = Wish {
        gap_ms: Some(options.get("gap", 1800)? * 1000),
        named: &named,
        viewpoints: options.get("see-all", 1)? > 0,
        look_ms: limits.usual("look")? * 1000,
        sight_mm: limits.usual("sight-range")? as f64,
    };
    let stations = clock.search(seed, |effort| ground.stations(&wish, effort))?;
    let stations_s = clock.seconds();
    let demands = &stations.demands;
    let question = Question {
        demands,
        from: None,
        guards: None,
        share_permille: USUAL_SHARE_PERMILLE,
        may: &[],
        zones: &[],
    };
    let rest = Stopwatch::start(seconds - stations_s - 1.5);
    let (found, steps) = rest.search(seed, |effort| (answer(&question, effort), effort.taken()));
    let answered_s = clock.seconds();
    let Answer::Kept(kept) = found else { anyhow::bail!("no plan: {found:?}") };
    let spots: Vec<_> = stations.list.iter().map(|s| s.spot.clone()).collect();
    let seen = ground.seen(wish.sight_mm, &ground.legs(&spots, &kept.plan));
    let took_s = clock.seconds();
    let until = 3 * demands.gap_ms.iter().max().copied().unwrap_or(0);
    ensure!(written_out(demands, &kept.plan, until).1.is_empty(), "the checker refuses the plan");
    println!(
        "{}",
        serde_json::json!({
            "bench": "route", "file": file, "stations": stations.list.len(), "stops": plan.stops.len(),
            "guards": kept.plan.guards(), "bound": kept.least.guards, "class": kept.plan.class().code(),
            "ended": kept.ended.map(|ended| ended.code()), "steps": steps, "with_margin": kept.with_margin, "longest_gap_s": kept.longest_gap_ms as f64 / 1e3,
            "seen_share": seen.map(|seen| seen.share()), "unreached_m2": seen.map(|seen| seen.unreached_mm2 / 1e6),
            "laid_out_s": laid_out_s, "stations_s": stations_s, "answered_s": answered_s, "took_s": took_s,
        })
    );
    Ok(())
}
