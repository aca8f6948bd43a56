//! `company [--nights N] [--watches N]`: the nights of a company, judged by us from verified lines and
//! asked of DuckDB in SQL about the same looks, in one run.
//!
//! Both answer for each watch and zone: how many looks, the longest gap from the beginning to the end
//! of the watch, and how many gaps were longer than allowed. The answers must agree, or the bench
//! fails. Ours also judges cover, rounds, clocks and chains; DuckDB gets plain numbers, already parsed
//! and verified. Memory is read after the first and after the last night.

use crate::watches::{Phone, START_MS, folded};
use anyhow::{Context, Result, bail, ensure};
use bench_plan::options::Options;
use bench_plan::random::Random;
use rules::findings::{Judging, judge};
use serde_json::{Value, json};
use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::time::Instant;
use watch::Held;

const ZONES: usize = 6;
const GAP_S: u32 = 1800;
const LENGTH_MS: i64 = 8 * 3_600_000;

/// What both must agree on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Answer {
    looks: i64,
    over: i64,
    longest_sum_ms: i64,
}

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["nights", "watches", "python"])?;
    let (nights, watches): (u64, u64) = (options.get("nights", 4)?, options.get("watches", 500)?);
    let python: String = options.get("python", "python3".to_owned())?;
    let folder = tempfile::tempdir()?;
    let table = folder.path().join("seen.csv");
    let mut out = std::io::BufWriter::new(std::fs::File::create(&table)?);
    writeln!(out, "watch,zone,at_ms,start_ms,end_ms")?;
    let (mut ours, mut ours_s, mut lines) = (Answer::default(), 0.0, 0u64);
    let mut memory_kib = Vec::new();
    for night in 0..nights {
        let made: Vec<(String, i64, Vec<Held>)> = (0..watches).map(|n| make(night, n)).collect();
        for (id, start_ms, held) in &made {
            rows(&mut out, id, *start_ms, held)?;
            lines += held.len() as u64;
        }
        let began = Instant::now();
        let answer = judge_night(made);
        ours_s += began.elapsed().as_secs_f64();
        ours.looks += answer.looks;
        ours.over += answer.over;
        ours.longest_sum_ms += answer.longest_sum_ms;
        memory_kib.push(resident_kib()?);
    }
    out.flush()?;
    drop(out);
    let duckdb = ask_duckdb(&python, folder.path(), &table)?;
    let theirs = Answer {
        looks: number(&duckdb, "looks")?,
        over: number(&duckdb, "over")?,
        longest_sum_ms: number(&duckdb, "longest_sum_ms")?,
    };
    ensure!(ours == theirs, "the answers differ: ours {ours:?}, DuckDB's {theirs:?}");
    let query_s = duckdb["query_s"].as_f64().context("DuckDB's time")?;
    let load_s = duckdb["load_s"].as_f64().context("DuckDB's time")?;
    println!(
        "{}",
        json!({
            "bench": "company", "nights": nights, "watches_a_night": watches, "lines": lines,
            "looks": ours.looks, "gaps_over": ours.over, "ours_s": ours_s, "threads": 2,
            "duckdb": duckdb["version"], "duckdb_load_s": load_s, "duckdb_query_s": query_s,
            "ratio_to_query": ours_s / query_s, "ratio_to_load_and_query": ours_s / (load_s + query_s),
            "memory_first_night_kib": memory_kib.first(), "memory_last_night_kib": memory_kib.last(),
        })
    );
    Ok(())
}

/// One watch of one night: rounds about every 26 minutes, some of them late.
fn make(night: u64, n: u64) -> (String, i64, Vec<Held>) {
    let id = format!("w-{night}-{n}");
    let start_ms = START_MS + night as i64 * 86_400_000;
    let mut random = Random(night * 1_000_003 + n);
    let mut phone = Phone::new(&id, start_ms);
    let mut held = phone.opening(ZONES, GAP_S, Some(start_ms + LENGTH_MS));
    let (mut at_ms, mut round) = (start_ms + 60_000, 1);
    while at_ms + 1_200_000 < start_ms + LENGTH_MS {
        for zone in 0..ZONES {
            at_ms += 60_000 + (random.draw() % 60_000) as i64;
            held.push(phone.see(at_ms, zone, round));
        }
        at_ms += 960_000 + (random.draw() % 360_000) as i64;
        round += 1;
    }
    let ended = record::ShiftEnded { all_clear: true, signature: None, rounds: round, lines: 0 };
    held.push(phone.write(start_ms + LENGTH_MS, ended));
    (id, start_ms, held)
}

fn rows(out: &mut impl Write, id: &str, start_ms: i64, held: &[Held]) -> Result<()> {
    for line in held.iter().map(|held| &held.line).filter(|line| line.kind == "seen") {
        let zone = line.body["zone"].as_str().context("a look has a zone")?;
        writeln!(out, "{id},{zone},{},{start_ms},{}", line.clk.wall, start_ms + LENGTH_MS)?;
    }
    Ok(())
}

/// Two threads, each half of the watches; a watch is dropped when it is judged.
fn judge_night(made: Vec<(String, i64, Vec<Held>)>) -> Answer {
    let mut first = made;
    let second = first.split_off(first.len() / 2);
    let one = |watches: Vec<(String, i64, Vec<Held>)>| {
        watches.into_iter().fold(Answer::default(), |sum, (id, start_ms, held)| {
            let answer = judge_watch(&id, start_ms, held);
            Answer {
                looks: sum.looks + answer.looks,
                over: sum.over + answer.over,
                longest_sum_ms: sum.longest_sum_ms + answer.longest_sum_ms,
            }
        })
    };
    let (a, b) = std::thread::scope(|scope| {
        let other = scope.spawn(|| one(second));
        (one(first), other.join().expect("judging does not panic"))
    });
    Answer {
        looks: a.looks + b.looks,
        over: a.over + b.over,
        longest_sum_ms: a.longest_sum_ms + b.longest_sum_ms,
    }
}

fn judge_watch(id: &str, start_ms: i64, held: Vec<Held>) -> Answer {
    let watch = folded(id, held);
    let state = watch.about(start_ms + LENGTH_MS + 1_000);
    std::hint::black_box(judge(&Judging { watch: &watch, state: &state, terms: None }));
    let mut answer = Answer::default();
    for zone in &state.zones {
        answer.looks += zone.looks.len() as i64;
        answer.over += zone.gaps.iter().filter(|gap| gap.over_ms() > Some(0)).count() as i64;
        answer.longest_sum_ms += zone.longest_gap().map_or(0, |gap| gap.length_ms());
    }
    answer
}

const SCRIPT: &str = r#"
import duckdb, json, sys, time
db = duckdb.connect()
db.execute("SET threads = 2")
t = time.perf_counter()
db.execute("CREATE TABLE seen AS SELECT * FROM read_csv(?, header = true)", [sys.argv[1]])
loaded = time.perf_counter()
row = db.execute("""
WITH looks AS (
  SELECT watch, zone, at_ms, start_ms, end_ms,
         at_ms - lag(at_ms, 1, start_ms) OVER (PARTITION BY watch, zone ORDER BY at_ms) AS gap,
         row_number() OVER (PARTITION BY watch, zone ORDER BY at_ms DESC) AS back
  FROM seen),
gaps AS (
  SELECT watch, zone, gap FROM looks
  UNION ALL SELECT watch, zone, end_ms - at_ms FROM looks WHERE back = 1),
zones AS (
  SELECT watch, zone, max(gap) AS longest, count(*) - 1 AS looks, count_if(gap > 1800000) AS over
  FROM gaps GROUP BY watch, zone)
SELECT sum(looks), sum(over), sum(longest) FROM zones
""").fetchone()
done = time.perf_counter()
print(json.dumps({"version": duckdb.__version__, "load_s": loaded - t, "query_s": done - loaded,
                  "looks": int(row[0]), "over": int(row[1]), "longest_sum_ms": int(row[2])}))
"#;

/// In a throw-away environment; a peer that cannot be had is a failure, not a skip.
fn ask_duckdb(python: &str, folder: &Path, table: &Path) -> Result<Value> {
    let environment = folder.join("venv");
    let inside = environment.join("bin/python3");
    call(Command::new(python).args(["-m", "venv"]).arg(&environment))?;
    call(Command::new(&inside).args(["-m", "pip", "install", "--quiet", "duckdb"]))?;
    let printed = call(Command::new(&inside).args(["-c", SCRIPT]).arg(table))?;
    serde_json::from_str(&printed).with_context(|| format!("DuckDB printed {printed:?}"))
}

fn call(command: &mut Command) -> Result<String> {
    let output = command.output().with_context(|| format!("{command:?} could not be started"))?;
    if !output.status.success() {
        bail!("{command:?} failed: {}", String::from_utf8_lossy(&output.stderr));
    }
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}

fn number(value: &Value, key: &str) -> Result<i64> {
    value[key].as_i64().with_context(|| format!("DuckDB gave no {key}"))
}

fn resident_kib() -> Result<u64> {
    let text =
        std::fs::read_to_string("/proc/self/statm").context("needs Linux's /proc/self/statm")?;
    let pages: u64 =
        text.split_whitespace().nth(1).context("statm has a second number")?.parse()?;
    Ok(pages * 4)
}
