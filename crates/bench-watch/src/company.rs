//! `company [--nights N] [--watches N]`: the nights of a company, judged by us from verified lines and
//! asked of DuckDB in SQL about the same looks, in one run.
//!
//! Both answer for each watch and zone: how many looks, the longest gap from the beginning to the end
//! of the watch, and how many gaps were longer than allowed. The answers must agree, or the bench
//! fails. Ours also judges cover, rounds, clocks and chains. DuckDB is asked twice: once it gets the
//! bytes of the lines, as we do, and once plain numbers that somebody has parsed for it. Signatures are
//! left out on both sides (`verify` measures them). Memory is read after the first and the last night.

use crate::watches::{Phone, START_MS, folded};
use anyhow::{Context, Result, ensure};
use bench_plan::machine::thread_cpu_s;
use bench_plan::options::Options;
use bench_plan::python::Python;
use bench_plan::random::Random;
use rules::findings::{Judging, judge};
use serde_json::{Value, json};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
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

impl Answer {
    fn with(self, other: Answer) -> Answer {
        Answer {
            looks: self.looks + other.looks,
            over: self.over + other.over,
            longest_sum_ms: self.longest_sum_ms + other.longest_sum_ms,
        }
    }
}

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["nights", "watches"])?;
    let (nights, watches): (u64, u64) = (options.get("nights", 4)?, options.get("watches", 500)?);
    let folder = tempfile::tempdir()?;
    let mut written = Written::create(folder.path())?;
    let (mut ours, mut ours_s, mut lines) = (Answer::default(), 0.0, 0u64);
    let mut spent = Spent::default();
    let mut memory_kib = Vec::new();
    for night in 0..nights {
        let made: Vec<(String, i64, Vec<Held>)> = (0..watches).map(|n| make(night, n)).collect();
        for (id, start_ms, held) in &made {
            written.add(id, *start_ms, held)?;
            lines += held.len() as u64;
        }
        spent.bytes_s += read_bytes(&made)?;
        let began = Instant::now();
        let (answer, more) = judge_night(made)?;
        ours_s += began.elapsed().as_secs_f64();
        (ours, spent) = (ours.with(answer), spent.with(more));
        memory_kib.push(resident_kib()?);
    }
    let duckdb = written.ask_duckdb()?;
    for way in ["plain", "bytes"] {
        let theirs = Answer {
            looks: number(&duckdb[way], "looks")?,
            over: number(&duckdb[way], "over")?,
            longest_sum_ms: number(&duckdb[way], "longest_sum_ms")?,
        };
        ensure!(ours == theirs, "the answers differ: ours {ours:?}, DuckDB's of {way} {theirs:?}");
    }
    let time = |way: &str, what: &str| {
        duckdb[way][what].as_f64().with_context(|| format!("DuckDB's {what} of {way}"))
    };
    let (query_s, query_cpu_s) = (time("plain", "query_s")?, time("plain", "query_cpu_s")?);
    let (load_s, bytes_cpu_s) = (time("plain", "load_s")?, time("bytes", "query_cpu_s")?);
    println!(
        "{}",
        json!({
            "bench": "company", "nights": nights, "watches_a_night": watches, "lines": lines,
            "looks": ours.looks, "gaps_over": ours.over, "ours_s": ours_s, "threads": 2,
            "ours_cpu_s": spent.all_s, "lines_cpu_s": spent.lines_s, "state_cpu_s": spent.state_s, "rules_cpu_s": spent.rules_s,
            "bytes_cpu_s": spent.bytes_s, "duckdb_bytes_cpu_s": bytes_cpu_s,
            "cpu_ratio_from_bytes": (spent.bytes_s + spent.all_s) / bytes_cpu_s,
            "duckdb_query_cpu_s": query_cpu_s, "cpu_ratio_to_query": spent.all_s / query_cpu_s,
            "duckdb": duckdb["version"], "duckdb_load_s": load_s, "duckdb_query_s": query_s,
            "ratio_to_query": ours_s / query_s, "ratio_to_load_and_query": ours_s / (load_s + query_s),
            "memory_first_night_kib": memory_kib.first(), "memory_last_night_kib": memory_kib.last(),
        })
    );
    Ok(())
}

/// Where the processor's time of all threads went, s: others on the machine do not change it.
#[derive(Debug, Clone, Copy, Default)]
struct Spent {
    /// Bytes read as lines.
    bytes_s: f64,
    /// Their bodies read and put in their places.
    lines_s: f64,
    /// The whole state: gaps, cover, rounds, chains and the rest.
    state_s: f64,
    /// Every rule.
    rules_s: f64,
    /// All but the reading of bytes, with what is let go at the end.
    all_s: f64,
}

impl Spent {
    fn with(self, other: Spent) -> Spent {
        Spent {
            bytes_s: self.bytes_s + other.bytes_s,
            lines_s: self.lines_s + other.lines_s,
            state_s: self.state_s + other.state_s,
            rules_s: self.rules_s + other.rules_s,
            all_s: self.all_s + other.all_s,
        }
    }
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

/// The same lines for DuckDB: as they were signed, and the looks as plain numbers.
struct Written {
    bytes: PathBuf,
    plain: PathBuf,
    out: [BufWriter<File>; 2],
}

impl Written {
    fn create(folder: &Path) -> Result<Written> {
        let (bytes, plain) = (folder.join("lines.ndjson"), folder.join("seen.csv"));
        let mut out =
            [BufWriter::new(File::create(&bytes)?), BufWriter::new(File::create(&plain)?)];
        writeln!(out[1], "watch,zone,at_ms,start_ms,end_ms")?;
        Ok(Written { bytes, plain, out })
    }

    fn add(&mut self, id: &str, start_ms: i64, held: &[Held]) -> Result<()> {
        let [bytes, plain] = &mut self.out;
        for line in held.iter().map(|held| &held.line) {
            bytes.write_all(line.bytes())?;
            writeln!(bytes)?;
            if line.kind == "seen" {
                let zone = line.body["zone"].as_str().context("a look has a zone")?;
                let (at_ms, end_ms) = (line.clk.wall, start_ms + LENGTH_MS);
                writeln!(plain, "{id},{zone},{at_ms},{start_ms},{end_ms}")?;
            }
        }
        Ok(())
    }

    fn ask_duckdb(mut self) -> Result<Value> {
        for out in &mut self.out {
            out.flush()?;
        }
        let question = json!({ "bytes": self.bytes, "plain": self.plain });
        Python::with(&["duckdb"])?.ask("DuckDB", SCRIPT, &question)
    }
}

/// Processor time of reading the bytes as lines, as is done before a signature is checked, s.
fn read_bytes(made: &[(String, i64, Vec<Held>)]) -> Result<f64> {
    let began_s = thread_cpu_s()?;
    for held in made.iter().flat_map(|(.., held)| held) {
        let value = ledger::canonical::parse(held.line.bytes())?;
        let line: ledger::Line = ledger::json::of_value(&value)?;
        std::hint::black_box(line);
    }
    Ok(thread_cpu_s()? - began_s)
}

/// Two threads, each half of the watches; a watch is dropped when it is judged.
fn judge_night(made: Vec<(String, i64, Vec<Held>)>) -> Result<(Answer, Spent)> {
    let mut first = made;
    let second = first.split_off(first.len() / 2);
    let one = |watches: Vec<(String, i64, Vec<Held>)>| {
        let began_s = thread_cpu_s()?;
        let (mut sum, mut spent) = (Answer::default(), Spent::default());
        for (id, start_ms, held) in watches {
            let (answer, more) = judge_watch(&id, start_ms, held)?;
            (sum, spent) = (sum.with(answer), spent.with(more));
        }
        spent.all_s = thread_cpu_s()? - began_s;
        Ok((sum, spent))
    };
    let (mine, others): (Result<_>, Result<_>) = std::thread::scope(|scope| {
        let other = scope.spawn(|| one(second));
        (one(first), other.join().expect("judging does not panic"))
    });
    let ((a, mine), (b, others)) = (mine?, others?);
    Ok((a.with(b), mine.with(others)))
}

fn judge_watch(id: &str, start_ms: i64, held: Vec<Held>) -> Result<(Answer, Spent)> {
    let began_s = thread_cpu_s()?;
    let watch = folded(id, held);
    let lines_s = thread_cpu_s()? - began_s;
    let state = watch.about(start_ms + LENGTH_MS + 1_000);
    let state_s = thread_cpu_s()? - began_s - lines_s;
    std::hint::black_box(judge(&Judging { watch: &watch, state: &state, terms: None }));
    let rules_s = thread_cpu_s()? - began_s - lines_s - state_s;
    let mut answer = Answer::default();
    for zone in &state.zones {
        answer.looks += zone.looks.len() as i64;
        answer.over += zone.gaps.iter().filter(|gap| gap.over_ms() > Some(0)).count() as i64;
        answer.longest_sum_ms += zone.longest_gap().map_or(0, |gap| gap.length_ms());
    }
    Ok((answer, Spent { bytes_s: 0.0, lines_s, state_s, rules_s, all_s: 0.0 }))
}

/// Both ways end in the same question; the way from bytes is told which members to read and skips the rest.
const SCRIPT: &str = r#"
import duckdb, json, sys, time
asked = json.load(sys.stdin)
db = duckdb.connect()
db.execute("SET threads = 2")
QUESTION = """
, looks AS (
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
"""
BYTES = """
WITH lines AS MATERIALIZED (
  SELECT watch, kind, clk.wall AS at_ms, body.zone AS zone
  FROM read_json(?, format = 'newline_delimited', columns = {watch: 'VARCHAR', kind: 'VARCHAR',
    clk: 'STRUCT(wall BIGINT)', body: 'STRUCT(zone VARCHAR)'})),
shifts AS (
  SELECT watch, min(at_ms) FILTER (kind = 'shift_began') AS start_ms,
         max(at_ms) FILTER (kind = 'shift_ended') AS end_ms
  FROM lines GROUP BY watch),
seen AS (
  SELECT watch, zone, at_ms, start_ms, end_ms FROM lines JOIN shifts USING (watch) WHERE kind = 'seen')
"""
def ask(question, given):
    wall, cpu = time.perf_counter(), time.process_time()
    looks, over, longest = map(int, db.execute(question, given).fetchone())
    return {"query_s": time.perf_counter() - wall, "query_cpu_s": time.process_time() - cpu,
            "looks": looks, "over": over, "longest_sum_ms": longest}
began = time.perf_counter()
db.execute("CREATE TABLE plain AS SELECT * FROM read_csv(?, header = true)", [asked["plain"]])
load_s = time.perf_counter() - began
plain = ask("WITH seen AS (SELECT * FROM plain)" + QUESTION, [])
plain["load_s"] = load_s
print(json.dumps({"version": duckdb.__version__, "plain": plain, "bytes": ask(BYTES + QUESTION, [asked["bytes"]])}))
"#;

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
