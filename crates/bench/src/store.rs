//! `store [sqlite|postgres] [--lines N] [--singles N]`: what it costs to be the record.
//!
//! In one run on one disk: the bare database with the same bytes and batch sizes beside our append;
//! a loop of as many `fdatasync`s beside our single commits with a signed head each; verification on
//! two threads beside the whole way from signed bytes to an acknowledged line under a signed head.
//! The targets are ratios to these limits; a run beside other busy programs says little.

mod bare;
#[path = "../../store/tests/conformance/cluster.rs"]
mod cluster;
mod ours;
mod signed;

use anyhow::{Result, bail};
use bench_plan::options::Options;
use serde_json::json;
use std::time::Instant;

/// Lines in a full batch.
const BATCH: usize = 256;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["lines", "singles"])?;
    let engine = options.word("a database: sqlite or postgres")?;
    if !matches!(engine, "sqlite" | "postgres") {
        bail!("{engine} is not known: sqlite or postgres");
    }
    let (lines, singles) = (options.get("lines", 40_000)?, options.get("singles", 3_000)?);
    let mut runtime = tokio::runtime::Builder::new_multi_thread();
    let runtime = runtime.worker_threads(2).enable_all().build()?;
    runtime.block_on(measure(engine, lines, singles))
}

async fn measure(engine: &str, lines: usize, singles: usize) -> Result<()> {
    let signed = signed::lines(lines);
    let bytes: usize = signed.iter().map(|line| line.signed.bytes.len()).sum();
    println!(
        "{}",
        json!({"bench": "store", "database": engine, "lines": lines, "bytes_per_line": bytes / lines})
    );
    let verify = signed::verify_on_two_threads(&signed);
    let lines = signed::verified(&signed);

    let (mut bare, mut ours) =
        (bare::Table::open(engine).await?, ours::Opened::open(engine).await?);
    let (mut limit, mut append) = (Turns::default(), Turns::default());
    for batch in lines.chunks(BATCH) {
        limit.time(batch.len(), bare.insert(batch)).await?;
        append.time(batch.len(), ours.append(batch.to_vec())).await?;
    }
    ours.close(lines.len()).await?;
    print("bare database, batches of 256", &limit);
    print("our append, batches of 256", &append);
    ratio("append / bare", append.per_s(), limit.per_s(), 0.8);

    let (mut loops, mut ours) = (bare::Syncs::open()?, ours::Opened::open(engine).await?);
    let (mut syncs, mut single) = (Turns::default(), Turns::default());
    for line in lines.iter().take(singles) {
        syncs.time(1, async { loops.turn() }).await?;
        single.time(1, ours.append_and_sign(line.clone())).await?;
    }
    ours.close(singles.min(lines.len())).await?;
    print("two fdatasyncs a turn", &syncs);
    print("one line and one signed head a turn", &single);
    ratio("single / sync loop", single.per_s(), syncs.per_s(), 0.8);

    let whole = ours::end_to_end(engine, &signed).await?;
    println!("{}", json!({"what": "verification, two threads", "per_s": verify.round()}));
    print("verified, appended, head signed; batches of 256", &whole);
    let limit = limit.per_s().min(verify);
    ratio("end to end / smaller of bare and verification", whole.per_s(), limit, 0.6);
    println!(
        "{}",
        json!({"what": "end to end", "per_s": whole.per_s().round(), "least_per_s": 8_000, "holds": whole.per_s() >= 8_000.0})
    );
    Ok(())
}

/// How long each turn took. Pairs that are compared take turns, so that a busy machine slows both.
#[derive(Default)]
pub(crate) struct Turns {
    pub(crate) lines: usize,
    pub(crate) whole_s: f64,
    pub(crate) each_ms: Vec<f64>,
}

impl Turns {
    async fn time(&mut self, lines: usize, turn: impl Future<Output = Result<()>>) -> Result<()> {
        let began = now();
        turn.await?;
        let took = began.elapsed().as_secs_f64();
        self.lines += lines;
        self.whole_s += took;
        self.each_ms.push(took * 1e3);
        Ok(())
    }

    fn per_s(&self) -> f64 {
        self.lines as f64 / self.whole_s
    }

    fn at(&self, share: f64) -> f64 {
        let mut sorted = self.each_ms.clone();
        sorted.sort_by(f64::total_cmp);
        sorted[((sorted.len() - 1) as f64 * share) as usize]
    }
}

#[expect(clippy::disallowed_methods, reason = "a bench measures wall time")]
pub(crate) fn now() -> Instant {
    Instant::now()
}

fn print(what: &str, turns: &Turns) {
    let rounded = |ms: f64| (ms * 1_000.0).round() / 1_000.0;
    println!(
        "{}",
        json!({
            "what": what, "per_s": turns.per_s().round(), "turns": turns.each_ms.len(),
            "p50_ms": rounded(turns.at(0.5)), "p99_ms": rounded(turns.at(0.99)),
        })
    );
}

fn ratio(what: &str, ours: f64, limit: f64, target: f64) {
    let ratio = (ours / limit * 1_000.0).round() / 1_000.0;
    println!(
        "{}",
        json!({"ratio": what, "value": ratio, "target": target, "holds": ratio >= target})
    );
}
