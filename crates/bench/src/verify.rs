//! `rattlewatch verify` on a bundle of a million lines, beside `openssl speed` for the signatures in
//! it. Both are compared by processor time, so that a busy machine slows neither.
//!
//! The bundle is judged in a process of its own, with the program's own reader and threads, so that
//! its memory and time are its own; the rest of the program (reports, the server) need not be built.

#[path = "../../rattlewatch/src/file_source.rs"]
mod file_source;
#[path = "../../rattlewatch/src/threads.rs"]
mod threads;

use anyhow::{Context, Result, bail, ensure};
use bench_plan::options::Options;
use bench_plan::stopwatch::Stopwatch;
use bundle::{BundleParts, How, KeptLine, LogParts};
use ledger::chain::Tip;
use ledger::leaf::{Entry, EntryTag};
use ledger::merkle::{Tree, leaf_hash};
use ledger::{
    Auth, Clk, DeviceKey, Head, HeadRef, Leaf, Line, LogKey, PersonId, SignedLine, WatchId,
    line::VERSION,
};
use serde_json::{Map, Value, json};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const PHONES: u64 = 20;
const START_MS: i64 = 1_798_747_200_000;

/// Linux counts the time of processes in hundredths of a second.
const TICKS_PER_S: f64 = 100.0;

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["lines", "seconds"])?;
    let lines: u64 = options.get("lines", 1_000_000)?;
    let seconds: u64 = options.get("seconds", 3)?;
    if let Ok("judge") = options.word("nothing, or judge") {
        return judge(Path::new(args.get(1).context("name the bundle")?));
    }
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("large.zip");
    std::fs::write(&path, large_bundle(lines)?)?;
    let bytes = std::fs::metadata(&path)?.len();
    let peer = openssl_verifies_per_s(seconds)?;
    let (wall_s, cpu_s, memory_kib, verdict) = verify(&path)?;
    ensure!(verdict["ok"] == true, "the bundle does not hold: {}", verdict["faults"]);
    let checked = verdict["lines"].as_u64().unwrap_or(0);
    let per_core = checked as f64 / cpu_s;
    println!(
        "{}",
        json!({
            "bench": "verify",
            "lines": checked,
            "bundle_bytes": bytes,
            "wall_s": round(wall_s),
            "cpu_s": round(cpu_s),
            "memory_peak_kib": memory_kib,
            "lines_per_core_s": per_core.round(),
            "openssl": openssl_version()?,
            "openssl_verifies_per_core_s": peer.round(),
            "ratio": round(per_core / peer),
        })
    );
    Ok(())
}

fn round(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// Runs the program and returns wall time, processor time, the most memory it had, and its verdict.
fn verify(path: &Path) -> Result<(f64, f64, u64, Value)> {
    let cpu_before_s = children_cpu_s()?;
    let stopwatch = Stopwatch::start(0.0);
    let mut child = Command::new(std::env::current_exe()?)
        .args(["verify", "judge"])
        .arg(path)
        .stdout(Stdio::piped())
        .spawn()
        .context("this program could not be run again")?;
    let mut memory_kib = 0;
    while child.try_wait()?.is_none() {
        memory_kib = memory_peak_kib(child.id()).unwrap_or(memory_kib);
        std::thread::sleep(Duration::from_millis(50));
    }
    let wall_s = stopwatch.seconds();
    let out = child.wait_with_output()?;
    let verdict = serde_json::from_slice(&out.stdout).context("no verdict was printed")?;
    Ok((wall_s, children_cpu_s()? - cpu_before_s, memory_kib, verdict))
}

/// Judges one bundle as `rattlewatch verify --json` does, and prints the verdict.
fn judge(path: &Path) -> Result<()> {
    let how = How {
        workers: &threads::Threads::of_this_machine(),
        progress: &mut |_, _| {},
        log_keys: &[],
        keep: None,
    };
    let verdict = bundle::verify_with(&file_source::FileSource::open(path)?, how)?;
    println!("{}", serde_json::to_string(&verdict)?);
    Ok(())
}

/// Processor time of all children that have ended, s.
fn children_cpu_s() -> Result<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat")?;
    let (_, after_name) = stat.rsplit_once(')').context("a strange /proc/self/stat")?;
    let fields: Vec<&str> = after_name.split_whitespace().collect();
    let ticks = |place: usize| -> Result<f64> {
        Ok(fields.get(place).context("a short /proc/self/stat")?.parse()?)
    };
    // `cutime` and `cstime` are the 16th and 17th fields, the name being the 2nd.
    Ok((ticks(13)? + ticks(14)?) / TICKS_PER_S)
}

fn memory_peak_kib(process: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

fn openssl_version() -> Result<String> {
    let out = Command::new("openssl").arg("version").output().context("openssl is missing")?;
    Ok(String::from_utf8(out.stdout)?.trim().to_owned())
}

fn openssl_verifies_per_s(seconds: u64) -> Result<f64> {
    let out = Command::new("openssl")
        .args(["speed", "-seconds", &seconds.to_string(), "ed25519"])
        .output()
        .context("openssl is missing")?;
    let text = String::from_utf8(out.stdout)?;
    let Some(line) = text.lines().find(|line| line.contains("EdDSA (Ed25519)")) else {
        bail!("`openssl speed` printed no line for Ed25519: {text}");
    };
    line.split_whitespace().next_back().context("no figure")?.parse().context("no figure")
}

/// One watch with many lines of twenty phones, a head quoted every minute, and a seal.
fn large_bundle(lines: u64) -> Result<Vec<u8>> {
    let mut log = Log::new()?;
    for device in 0..=PHONES {
        let key = log.keys[device as usize].public();
        let role = if device == 0 { "server" } else { "guard" };
        let keep = if device == 0 { "server" } else { "soft" };
        let body = json!({"device": key.device(), "keep": keep, "key": key, "role": role});
        let line = log.write(0, &WatchId::org(), "enrolled", body)?;
        log.org_lines.push(line);
    }
    let watch = WatchId::new("large").context("a plain id")?;
    for number in 0..lines.saturating_sub(1) {
        if number % 1000 == 0 {
            log.quoted = Some(log.head().quoted());
        }
        let body = json!({"how": "tag", "stop": format!("stop-{}", number % 60)});
        let line = log.write(1 + number % PHONES, &watch, "seen", body)?;
        log.lines.push(KeptLine { signed: line, private: None });
    }
    let ends = log.tips.iter().filter(|((of, _), _)| *of == watch).map(|(_, tip)| tip);
    let mut ends: Vec<&Tip> = ends.collect();
    ends.sort_by_key(|tip| tip.dev);
    let ends: Vec<Value> = ends
        .iter()
        .map(|tip| json!({"count": tip.count, "dev": tip.dev, "last": tip.last}))
        .collect();
    let seal = log.write(0, &watch, "sealed", json!({ "chains": ends }))?;
    log.lines.push(KeptLine { signed: seal, private: None });
    let head = log.head().sign(&log.log_key).to_string();
    let keys = log.keys.iter().map(DeviceKey::public).collect();
    let logs = vec![LogParts {
        vkey: log.log_key.vkey(),
        head,
        tree: &log.tree,
        leaves: log.leaves,
        stamps: Vec::new(),
    }];
    let server = log.keys[0].device();
    let parts = BundleParts {
        watch,
        server,
        lines: log.lines,
        org_lines: log.org_lines,
        keys,
        logs,
        blobs: Vec::new(),
    };
    bundle::write(&parts).context("the lines make no bundle")
}

/// A log that takes lines in as fast as they can be signed.
struct Log {
    log_key: LogKey,
    keys: Vec<DeviceKey>,
    tips: std::collections::BTreeMap<(WatchId, u64), Tip>,
    tree: Tree,
    leaves: Vec<Vec<u8>>,
    lines: Vec<KeptLine>,
    org_lines: Vec<SignedLine>,
    quoted: Option<HeadRef>,
}

impl Log {
    fn new() -> Result<Log> {
        Ok(Log {
            log_key: LogKey::from_seed("bench.example/large/2026", [200; 32])?,
            keys: (0..=PHONES).map(|device| DeviceKey::from_seed([device as u8; 32])).collect(),
            tips: std::collections::BTreeMap::new(),
            tree: Tree::new(),
            leaves: Vec::new(),
            lines: Vec::new(),
            org_lines: Vec::new(),
            quoted: None,
        })
    }

    fn head(&self) -> Head {
        let origin = self.log_key.name().to_owned();
        Head { origin, size: self.tree.size(), root: self.tree.root() }
    }

    fn write(
        &mut self,
        device: u64,
        watch: &WatchId,
        kind: &str,
        body: Value,
    ) -> Result<SignedLine> {
        let key = &self.keys[device as usize];
        let place = (watch.clone(), device);
        let tip = self.tips.entry(place).or_insert_with(|| Tip::start(key.device(), watch.clone()));
        let index = self.tree.size();
        let now_ms = START_MS + index as i64 * 60;
        let Value::Object(body) = body else { bail!("a body is an object") };
        let line = Line {
            v: VERSION,
            kind: kind.to_owned(),
            dev: tip.dev,
            watch: watch.clone(),
            seq: tip.count,
            prev: tip.last,
            who: PersonId::new(format!("person-{device}")).context("a plain id")?,
            auth: Auth::Pin,
            clk: Clk {
                wall: now_ms,
                mono: index as i64 * 60,
                boot: format!("boot-{device}"),
                off: Some(-12),
                err: Some(40),
                age: Some(60_000),
                tz: -300,
            },
            head: self.quoted.clone(),
            app: "1.0.0".to_owned(),
            body: Map::from_iter(body),
            private: None,
        };
        let signed = line.sign(key)?;
        let leaf = Entry {
            dev: tip.dev,
            e: signed.id(),
            i: index,
            rx: now_ms + 500,
            rxe: 5,
            seq: tip.count,
            sig: signed.signature,
            t: EntryTag::Entry,
            v: VERSION,
            watch: watch.clone(),
        };
        let leaf = Leaf::Entry(leaf).to_bytes();
        tip.follow(line.seq, line.prev, signed.id())?;
        self.tree.push(leaf_hash(&leaf));
        self.leaves.push(leaf);
        Ok(signed)
    }
}
