//! Worlds by seed: `--seeds N` of them from `--seed S` on. A night that does not hold prints the one
//! command that plays it again.
#![expect(clippy::disallowed_methods, reason = "a campaign says how long it took")]

use simulation::world::{Weather, play};
use std::process::ExitCode;
use std::time::Instant;

/// Nights in each run of the tests; `cargo x campaign world` plays on.
const USUAL_SEEDS: u64 = 4;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let number = |flag: &str| {
        let at = arguments.iter().position(|argument| argument == flag)?;
        arguments.get(at + 1)?.parse::<u64>().ok()
    };
    if arguments.iter().any(|argument| argument == "--list") {
        println!("world: test");
        return ExitCode::SUCCESS;
    }
    let (first, count) = (number("--seed").unwrap_or(1), number("--seeds").unwrap_or(USUAL_SEEDS));
    // A campaign counts its runs: each has seeds of its own.
    let first = first * count;
    let runtime = tokio::runtime::Runtime::new().expect("threads can be started");
    for seed in first..first + count {
        let began = Instant::now();
        let folder = tempfile::tempdir().expect("a folder can be made");
        match runtime.block_on(play(folder.path(), seed, Weather::FOUL)) {
            Ok(audit) => println!(
                "seed {seed}: {} lines, {} looks, {} true gaps, {} ms",
                audit.lines,
                audit.looks,
                audit.gaps,
                began.elapsed().as_millis()
            ),
            Err(error) => {
                eprintln!("seed {seed} does not hold: {error:#}");
                eprintln!(
                    "replay: cargo test -p rattlewatch-simulation --test world -- --seed {seed} --seeds 1"
                );
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}
