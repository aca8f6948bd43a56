//! Long tests that add up: the same programs as in `cargo x test`, with new seeds until the time is
//! over. Each run that held is a line in `bench/results/NAME.jsonl`; one that did not prints how to
//! replay it and ends the campaign. Fuzzing and the soak are of another kind: one learns from run to run, the other is
//! one run that must be long.

mod fuzz;
mod soak;

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

/// A long test: which program, and how much of it is one run.
struct Campaign {
    name: &'static str,
    says: &'static str,
    package: &'static str,
    test: &'static str,
    amount: (&'static str, u64),
}

const CAMPAIGNS: &[Campaign] = &[
    Campaign {
        name: "crash",
        says: "kill -9 of a writer under load; nothing acknowledged is lost",
        package: "rattlewatch-store",
        test: "crash",
        amount: ("--cycles", 500),
    },
    Campaign {
        name: "power",
        says: "the disk as a power cut leaves it, at moments of a write",
        package: "rattlewatch-store",
        test: "power",
        amount: ("--images", 1_000),
    },
    Campaign {
        name: "tamper",
        says: "changed bytes in a mended bundle; neither this program nor verify.py misses one",
        package: "rattlewatch-bundle",
        test: "tamper",
        amount: ("--changes", 2_500),
    },
    Campaign {
        name: "twins",
        says: "the same requests to SQLite and PostgreSQL give the same answers",
        package: "rattlewatch-store",
        test: "twins",
        amount: ("--ops", 10_000),
    },
    Campaign {
        name: "world",
        says: "phones, network, clocks and server by seed; an auditor compares the record with the truth",
        package: "rattlewatch-simulation",
        test: "world",
        amount: ("--seeds", 20),
    },
    Campaign {
        name: "rollback",
        says: "the server comes back from old copies; each is noticed, and the phones fill it up",
        package: "rattlewatch-simulation",
        test: "rollback",
        amount: ("--seeds", 10),
    },
    Campaign {
        name: "hostile",
        says: "damaged inputs into every reader; none panics, none thinks for ever",
        package: "rattlewatch-simulation",
        test: "hostile",
        amount: ("--inputs", 20_000),
    },
];

/// Those with a file of their own.
const OF_THEIR_OWN: &[(&str, &str)] = &[
    (
        "fuzz",
        "each reader of what strangers send under a fuzzer, for so many minutes [--target NAME]",
    ),
    ("soak", "the real program under lines for hours; what it holds may not grow [--program FILE]"),
];

/// `cargo x campaign NAME --for MINUTES [--resume]`
pub(crate) fn run(arguments: &[String]) -> Result<()> {
    let name = arguments.first().map_or("", String::as_str);
    let campaign = CAMPAIGNS.iter().find(|campaign| campaign.name == name);
    if campaign.is_none() && !OF_THEIR_OWN.iter().any(|(known, _)| *known == name) {
        let repeated = CAMPAIGNS.iter().map(|campaign| (campaign.name, campaign.says));
        for (name, says) in repeated.chain(OF_THEIR_OWN.iter().copied()) {
            println!("{name:<9}{says}");
        }
        bail!("usage: cargo x campaign NAME --for MINUTES [--resume]");
    }
    let minutes = arguments
        .iter()
        .position(|argument| argument == "--for")
        .and_then(|at| arguments.get(at + 1)?.parse::<u64>().ok())
        .context("say how long: --for MINUTES")?;
    let resume = arguments.iter().any(|argument| argument == "--resume");
    match campaign {
        Some(campaign) => repeat(campaign, minutes, resume),
        None if name == "fuzz" => fuzz::run(arguments, minutes, resume),
        None => soak::run(arguments, minutes),
    }
}

/// New seeds until the time is over.
fn repeat(campaign: &Campaign, minutes: u64, resume: bool) -> Result<()> {
    let results = PathBuf::from(format!("bench/results/{}.jsonl", campaign.name));
    let mut seed = if resume { last_seed(&results) + 1 } else { 1 };
    let end = Instant::now() + Duration::from_secs(minutes * 60);
    while Instant::now() < end {
        one_run(campaign, seed, &results)?;
        seed += 1;
    }
    println!("{}: all runs up to seed {} held", campaign.name, seed - 1);
    Ok(())
}

fn one_run(campaign: &Campaign, seed: u64, results: &Path) -> Result<()> {
    let (flag, amount) = campaign.amount;
    let (amount_text, seed_text) = (amount.to_string(), seed.to_string());
    let arguments = [
        "test",
        "--quiet",
        "--release",
        "--package",
        campaign.package,
        "--test",
        campaign.test,
        "--",
        flag,
        &amount_text,
        "--seed",
        &seed_text,
    ];
    let began = Instant::now();
    let status = Command::new(env!("CARGO")).args(arguments).status()?;
    if !status.success() {
        bail!("did not hold; replay with: cargo {}", arguments.join(" "));
    }
    let line = json!({
        "campaign": campaign.name,
        "seed": seed,
        flag.trim_start_matches('-'): amount,
        "took_s": began.elapsed().as_secs(),
        "profile": "release",
        "machine": machine(),
        "load": load(),
        "commit": said("git", &["rev-parse", "--short", "HEAD"]),
    });
    append(results, &line)
}

fn append(results: &Path, line: &Value) -> Result<()> {
    fs::create_dir_all("bench/results")?;
    let mut file = OpenOptions::new().create(true).append(true).open(results)?;
    writeln!(file, "{line}")?;
    Ok(())
}

fn last_seed(results: &Path) -> u64 {
    let text = fs::read_to_string(results).unwrap_or_default();
    let seeds =
        text.lines().filter_map(|line| serde_json::from_str::<Value>(line).ok()?["seed"].as_u64());
    seeds.max().unwrap_or(0)
}

fn machine() -> String {
    let processors = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model =
        processors.lines().find_map(|line| line.strip_prefix("model name")?.split_once(": "));
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    format!("{} x {cores}", model.map_or("unknown", |(_, name)| name))
}

/// Programs that wanted to run during the last minute, on average: what else the machine had to do
/// belongs beside every figure.
fn load() -> f64 {
    let text = fs::read_to_string("/proc/loadavg").unwrap_or_default();
    text.split(' ').next().and_then(|minute| minute.parse().ok()).unwrap_or(0.0)
}

fn said(program: &str, arguments: &[&str]) -> String {
    let output = Command::new(program).args(arguments).output();
    output.map_or_else(
        |_| String::new(),
        |out| String::from_utf8_lossy(&out.stdout).trim().to_owned(),
    )
}
