//! `night FILE --gap S --hours H --seconds T --seed S`: a whole watch on a real building below the data
//! root's `indoor` folder: its drawing brought in at the desk, guards and rounds from the planner, every
//! look said on a phone against the real server, released, verified and judged. Nothing of it is saved.

use anyhow::{Context, Result, ensure};
use bench_plan::import;
use bench_plan::options::Options;
use bench_plan::stopwatch::Stopwatch;
use bench_plan::survey::limits;
use floorplan::{Floors, Times};
use planner::answer::{Answer, Question, USUAL_SHARE_PERMILLE, answer};
use planner::ground::{Ground, Kind, Station, Wish};
use planner::timetable;
use simulation::building::{Looks, keep};

const OPTIONS: &[&str] = &["gap", "hours", "seconds", "seed"];

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, OPTIONS)?;
    let file = options.word("a drawing").unwrap_or("osm-tud-apb.geojson");
    let (gap_s, hours) = (options.get("gap", 1800)?, options.get("hours", 2)?);
    let limits = limits()?;
    let clock = Stopwatch::start(options.get("seconds", 20.0)?);
    let plan = import::read(file)?.plan;
    let (floors, times) = (Floors::new(&plan), Times::usual(&limits)?);
    let ground = Ground::new(&plan, &floors, times, true);
    let wish = Wish {
        gap_ms: Some(i64::from(gap_s) * 1000),
        named: &[],
        viewpoints: false,
        look_ms: limits.usual("look")? * 1000,
        sight_mm: limits.usual("sight-range")? as f64,
    };
    let seed = options.get("seed", 1)?;
    let stations = clock.search(seed, |effort| ground.stations(&wish, effort))?;
    let question = Question {
        demands: &stations.demands,
        from: None,
        guards: None,
        share_permille: USUAL_SHARE_PERMILLE,
        may: &[],
        zones: &[],
    };
    let found = clock.search(seed, |effort| answer(&question, effort));
    let Answer::Kept(kept) = found else { anyhow::bail!("no plan: {found:?}") };
    let planned_s = clock.seconds();
    let until_ms = i64::from(hours) * 3_600_000;
    let rounds = timetable::timetable(&stations.demands, &kept.plan, until_ms);
    let guards: Vec<Looks> =
        rounds.iter().map(|looks| looks_of(looks, &stations.list)).collect::<Result<_>>()?;
    let said: usize = guards.iter().map(Vec::len).sum();
    let folder = tempfile::tempdir()?;
    let runtime = tokio::runtime::Runtime::new()?;
    let bytes = plan.canonical();
    let watch = runtime.block_on(keep(folder.path(), &bytes, gap_s / 60, &guards))?;
    ensure!(watch.looks == said, "{said} looks were said, the bundle holds {}", watch.looks);
    println!(
        "{}",
        serde_json::json!({
            "bench": "night", "file": file, "levels": plan.levels.len(), "zones": plan.zones.len(),
            "stops": plan.stops.len(), "guards": guards.len(), "guards_at_least": kept.least.guards,
            "hours": hours, "looks": watch.looks, "lines": watch.lines, "zones_kept": watch.kept,
            "broken_or_unclear": watch.not_kept, "verified": true, "bundle_bytes": watch.bundle_bytes,
            "planned_s": planned_s, "took_s": clock.seconds(),
        })
    );
    Ok(())
}

fn looks_of(looks: &[timetable::Look], stations: &[Station]) -> Result<Looks> {
    let stop = |look: &timetable::Look| match &stations[look.stop].kind {
        Kind::Stop(id) => Ok((look.end_ms, id.to_string())),
        Kind::Viewpoint => None.context("only stops were asked for"),
    };
    looks.iter().map(stop).collect()
}
