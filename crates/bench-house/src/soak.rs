//! `soak --program FILE [--minutes N] [--per-second N] [--phones N]`: the real program with SQLite in a process of its
//! own, lines from scripted phones without a pause, and what the process holds looked at again and again. Watches end
//! and others begin, as in a house. Every look is printed as a line of JSON, then what is to be said of them all; it
//! fails when memory grows, descriptors are not given back or the write-ahead log swells.

mod guards;
mod held;
mod program;

use anyhow::{Context, Result, ensure};
use bench_plan::options::Options;
use bench_plan::stopwatch::Stopwatch;
use guards::Guards;
use held::{Look, Verdict};
use program::Program;
use serde_json::json;
use simulation::Desk;
use std::path::PathBuf;
use std::time::Duration;

/// Between two looks, s; longer in a soak of many hours, so that it keeps some hundreds of them.
const LOOK_EVERY_S: u64 = 15;
const LOOKS_MAX: u64 = 480;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["program", "minutes", "per-second", "phones"])?;
    let program: PathBuf = options.get("program", PathBuf::new())?;
    ensure!(
        program.is_file(),
        "name the program to be soaked: --program target/release/rattlewatch"
    );
    let (minutes, per_s) = (options.get("minutes", 120)?, options.get("per-second", 100)?);
    let phones = options.get("phones", 50)?;
    simulation::choose_tls();
    let runtime = tokio::runtime::Runtime::new()?;
    let looks = runtime.block_on(soak(&program, minutes * 60, per_s, phones))?;
    let verdict = Verdict::of(&looks, per_s as f64);
    println!(
        "{}",
        json!({ "soak": "verdict", "phones": phones, "asked_per_s": per_s, "verdict": verdict })
    );
    ensure!(verdict.faults.is_empty(), "did not hold: {}", verdict.faults.join("; "));
    Ok(())
}

async fn soak(
    program: &std::path::Path,
    length_s: u64,
    per_s: u32,
    phones: u32,
) -> Result<Vec<Look>> {
    let folder = tempfile::tempdir()?;
    let program = Program::start(program, folder.path())?;
    let desk = Desk::begin(&program.url, &program.begin_link, "lanterns along the quay").await?;
    let clock = Stopwatch::start(0.0);
    let mut guards = Guards::begin(desk, &program.url, per_s, phones);
    let every_s = LOOK_EVERY_S.max(length_s / LOOKS_MAX);
    let mut looks = Vec::new();
    for n in 1..=length_s / every_s {
        let wait_s = (n * every_s) as f64 - clock.seconds();
        tokio::time::sleep(Duration::from_secs_f64(wait_s.max(0.0))).await;
        guards.still_there().await.with_context(|| program.last_words())?;
        // Somebody has the desk's first page open as well.
        guards.desk.page("/").await?;
        let mut look = program.look().context("the program is no longer there")?;
        (look.at_s, look.lines) = (clock.seconds(), guards.sent());
        println!("{}", serde_json::to_string(&look)?);
        looks.push(look);
    }
    guards.end().await;
    program.stop()?;
    Ok(looks)
}
