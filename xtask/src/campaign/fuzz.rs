//! `cargo x campaign fuzz --for MINUTES [--target NAME] [--resume]`: each reader of the package `fuzz` under libFuzzer
//! for so many minutes, on stable Rust with a C++ compiler. The compiler plants the fuzzer's counters by flags that it
//! passes on to LLVM, so neither a nightly toolchain nor another program is needed.

use super::{append, load, machine, said};
use crate::launch;
use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Command;

/// What SanitizerCoverage plants: a counter at each edge, and calls at comparisons, by which the fuzzer learns what a
/// reader looks for. They are the flags of `cargo fuzz` without a sanitizer: the readers hold no unsafe code.
const FLAGS: &str = "--cfg fuzzing -Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
     -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
     -Cllvm-args=-sanitizer-coverage-trace-compares";

/// Everything of this campaign that is not a result: the program, what it has learnt, what it found.
const FOLDER: &str = "target/fuzz";

/// No input may take longer (s) or fill more memory (MiB).
const PATIENCE_S: u32 = 20;
const MEMORY_MIB: u32 = 2_048;

/// How long a found input is made smaller, s.
const SMALLER_S: u32 = 60;

pub(super) fn run(arguments: &[String], minutes: u64, resume: bool) -> Result<()> {
    let only = arguments.iter().position(|a| a == "--target").and_then(|at| arguments.get(at + 1));
    let program = build()?;
    let mut targets = targets(&program)?;
    if let Some(only) = only {
        let names: Vec<String> = targets.iter().map(|(name, _)| name.clone()).collect();
        targets.retain(|(name, _)| name == only);
        ensure!(!targets.is_empty(), "no target {only:?}; there are {}", names.join(", "));
    }
    let mut found = Vec::new();
    for (name, longest) in &targets {
        let target = Target { program: &program, name, longest };
        println!("== {name}, {minutes} min");
        if let Some(input) = target.run(minutes, resume)? {
            found.push(format!(
                "{name}: cargo run --package rattlewatch-fuzz -- {name} {}",
                input.display()
            ));
        }
    }
    if found.is_empty() {
        println!("fuzz: {} targets held", targets.len());
        return Ok(());
    }
    bail!(
        "did not hold; look at each in an ordinary build, then keep it as a test with a name in the room whose \
         reader was wrong:\n  {}",
        found.join("\n  ")
    )
}

/// Builds the targets with counters in them. A target of its own for the compiler keeps the counters out of build
/// scripts.
fn build() -> Result<PathBuf> {
    let rustc = said("rustc", &["-vV"]);
    let host = rustc.lines().find_map(|line| line.strip_prefix("host: "));
    let host = host.context("rustc names the machine it runs on")?;
    let mut command = Command::new(env!("CARGO"));
    command.args(["build", "--package", "rattlewatch-fuzz", "--profile", "fuzz", "--target", host]);
    launch::program(command.args(["--target-dir", FOLDER]).env("RUSTFLAGS", FLAGS))?;
    Ok(Path::new(FOLDER).join(host).join("fuzz/rattlewatch-fuzz"))
}

/// The name of each target, and its longest input in bytes.
fn targets(program: &Path) -> Result<Vec<(String, String)>> {
    let output = Command::new(program).env_remove("RATTLEWATCH_FUZZ").output()?;
    let text = String::from_utf8(output.stdout)?;
    let pair = |line: &str| line.split_once(' ').map(|(a, b)| (a.to_owned(), b.to_owned()));
    let targets: Vec<_> = text.lines().filter_map(pair).collect();
    ensure!(!targets.is_empty(), "{} lists no target", program.display());
    Ok(targets)
}

struct Target<'a> {
    program: &'a Path,
    name: &'a str,
    longest: &'a str,
}

impl Target<'_> {
    /// Runs it and keeps a line of what it reached; an input for which something did not hold comes back.
    fn run(&self, minutes: u64, resume: bool) -> Result<Option<PathBuf>> {
        let corpus = Path::new(FOLDER).join("corpus").join(self.name);
        if !resume && corpus.exists() {
            fs::remove_dir_all(&corpus)?;
        }
        fs::create_dir_all(&corpus)?;
        let found = Path::new(FOLDER).join("found").join(self.name);
        fs::create_dir_all(&found)?;
        let log = Path::new(FOLDER).join(format!("{}.log", self.name));
        let held = self
            .fuzzer(&found)
            .env("RATTLEWATCH_SEEDS", &corpus)
            .arg(format!("-max_total_time={}", minutes * 60))
            .arg(format!("-max_len={}", self.longest))
            .arg("-print_final_stats=1")
            .arg(&corpus)
            .stderr(File::create(&log)?)
            .status()?
            .success();
        let said = String::from_utf8_lossy(&fs::read(&log)?).into_owned();
        if held {
            let mut line = reached(&said);
            println!("{line}");
            for (name, value) in [
                ("campaign", json!("fuzz")),
                ("target", json!(self.name)),
                ("minutes", json!(minutes)),
                ("machine", json!(machine())),
                ("load", json!(load())),
                ("commit", json!(super::said("git", &["rev-parse", "--short", "HEAD"]))),
            ] {
                line[name] = value;
            }
            append(Path::new("bench/results/fuzz.jsonl"), &line)?;
            return Ok(None);
        }
        let written = said.lines().find_map(|line| line.split_once("Test unit written to "));
        let Some((_, input)) = written else {
            bail!("{}: the fuzzer ended without an input, see {}", self.name, log.display())
        };
        Ok(Some(self.smaller(Path::new(input), &found)?))
    }

    fn fuzzer(&self, found: &Path) -> Command {
        let mut fuzzer = Command::new(self.program);
        fuzzer
            .env("RATTLEWATCH_FUZZ", self.name)
            .arg(format!("-timeout={PATIENCE_S}"))
            .arg(format!("-rss_limit_mb={MEMORY_MIB}"))
            .arg(format!("-artifact_prefix={}/", found.display()));
        fuzzer
    }

    /// The smallest input that does the same, as far as a minute leads; the one found if none is smaller.
    fn smaller(&self, input: &Path, found: &Path) -> Result<PathBuf> {
        let smallest = found.join("smallest");
        let _ = fs::remove_file(&smallest);
        // Ends with a fault of its own once nothing smaller is found.
        self.fuzzer(found)
            .arg("-minimize_crash=1")
            .arg(format!("-max_total_time={SMALLER_S}"))
            .arg(format!("-exact_artifact_path={}", smallest.display()))
            .arg(input)
            .stderr(File::create(Path::new(FOLDER).join(format!("{}-smaller.log", self.name)))?)
            .status()?;
        Ok(if smallest.exists() { smallest } else { input.to_owned() })
    }
}

/// What the fuzzer said at its end: executions, places reached of those with a counter, inputs that reach them.
fn reached(said: &str) -> Value {
    let word_after = |line: &str, key: &str| {
        let word = line.split(key).nth(1)?.split_whitespace().next()?;
        word.split('/').next()?.trim_start_matches('(').parse::<u64>().ok()
    };
    let last = |key: &str| said.lines().rev().find_map(|line| word_after(line, key));
    json!({
        "executions": last("stat::number_of_executed_units:"),
        "per_s": last("stat::average_exec_per_sec:"),
        "peak_mib": last("stat::peak_rss_mb:"),
        "reached": last(" cov: "),
        "of": last("Loaded 1 PC tables ("),
        "corpus": last(" corp: "),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As libFuzzer of LLVM 20 says it.
    #[test]
    fn figures_are_read_from_what_the_fuzzer_says() {
        let said = "INFO: Loaded 1 PC tables (4711 PCs): 4711 [0x55,0x66), \n\
            #2\tINITED cov: 10 ft: 11 corp: 1/1b exec/s: 0 rss: 40Mb\n\
            #900\tREDUCE cov: 321 ft: 400 corp: 17/2Kb lim: 4 exec/s: 0 rss: 41Mb L: 4/8 MS: 1 EraseBytes-\n\
            Done 900 runs in 1 second(s)\n\
            stat::number_of_executed_units: 900\n\
            stat::average_exec_per_sec:     450\n\
            stat::peak_rss_mb:              41\n";
        let line = reached(said);
        let expected = json!({
            "executions": 900, "per_s": 450, "peak_mib": 41, "reached": 321, "of": 4711, "corpus": 17,
        });
        assert_eq!(line, expected);
    }
}
