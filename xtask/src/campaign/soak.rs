//! `cargo x campaign soak --for MINUTES [--program FILE]`: the real program under a hundred lines a second, and what
//! it holds, look by look (`crates/bench-house/src/soak.rs`).

use super::{append, load, machine, said};
use crate::launch;
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

pub(super) fn run(arguments: &[String], minutes: u64) -> Result<()> {
    let given =
        arguments.iter().position(|a| a == "--program").and_then(|at| arguments.get(at + 1));
    let program = match given {
        Some(file) => PathBuf::from(file),
        None => {
            launch::cargo(&["build", "--quiet", "--release", "--package", "rattlewatch"])?;
            launch::built()?.join("release/rattlewatch")
        }
    };
    let results = Path::new("bench/results/soak.jsonl");
    append(
        results,
        &json!({
            "soak": "begins",
            "minutes": minutes,
            "program": said(&program.display().to_string(), &["--version"]),
            "optimised": !program.components().any(|part| part.as_os_str() == "debug"),
            "machine": machine(),
            "load": load(),
            "commit": said("git", &["rev-parse", "--short", "HEAD"]),
        }),
    )?;
    let mut soak = Command::new(env!("CARGO"))
        .args(["run", "--quiet", "--release", "--package", "rattlewatch-bench-house", "--", "soak"])
        .args(["--minutes", &minutes.to_string()])
        .arg("--program")
        .arg(&program)
        .stdout(Stdio::piped())
        .spawn()?;
    for line in BufReader::new(soak.stdout.take().context("its words are piped")?).lines() {
        let line = line?;
        println!("{line}");
        append(results, &serde_json::from_str::<Value>(&line)?)?;
    }
    append(results, &json!({ "soak": "ended", "load": load() }))?;
    ensure!(soak.wait()?.success(), "the soak did not hold: see the end of {}", results.display());
    Ok(())
}
