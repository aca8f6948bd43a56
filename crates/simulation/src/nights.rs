//! Worlds by seed from a command line: `--seeds N` of them from `--seed S` on. A night that does not
//! hold prints the one command that plays it again.

use crate::world::{Weather, play};
use std::process::ExitCode;

/// Plays the nights of the test `test`, `usual` of them unless the arguments say how many.
pub fn run(test: &str, weather: Weather, usual: u64) -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let number = |flag: &str| {
        let at = arguments.iter().position(|argument| argument == flag)?;
        arguments.get(at + 1)?.parse::<u64>().ok()
    };
    if arguments.iter().any(|argument| argument == "--list") {
        println!("{test}: test");
        return ExitCode::SUCCESS;
    }
    let (first, count) = (number("--seed").unwrap_or(1), number("--seeds").unwrap_or(usual));
    // A campaign counts its runs: each has seeds of its own.
    let first = first * count;
    let runtime = tokio::runtime::Runtime::new().expect("threads can be started");
    let mut rolled_back = 0;
    for seed in first..first + count {
        let folder = tempfile::tempdir().expect("a folder can be made");
        match runtime.block_on(play(folder.path(), seed, weather)) {
            Ok(audit) => {
                rolled_back += audit.rolled_back;
                println!(
                    "seed {seed}: {} lines, {} looks, {} true gaps, {} old copies noticed",
                    audit.lines, audit.looks, audit.gaps, audit.rolled_back
                );
            }
            Err(error) => {
                eprintln!("seed {seed} does not hold: {error:#}");
                eprintln!(
                    "replay: cargo test -p rattlewatch-simulation --test {test} -- --seed {seed} --seeds 1"
                );
                return ExitCode::FAILURE;
            }
        }
    }
    if weather.rolls_back > 0 && rolled_back == 0 {
        eprintln!("no copy was older than what was signed: nothing was tried");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}
