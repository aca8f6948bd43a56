//! Whatever reads what strangers send: good inputs, damaged by seed, into every reader of the package `fuzz`, with what
//! must hold there. A reader may refuse; it may not panic, and it may not think for ever. `--inputs N` for each reader,
//! `--seed S`.
#![expect(clippy::disallowed_methods, reason = "whoever looks for a hang reads the clock")]

use fuzz::{TARGETS, Target};
use simulation::Chance;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::time::{Duration, Instant};

/// Inputs for each reader in each run of the tests; `cargo x campaign hostile` goes on.
const USUAL_INPUTS: u64 = 400;
/// Readers that sign every line of a night or find every box of a page: a tenth of the inputs.
const SLOW: &[&str] = &["night", "page"];
/// No input of this size may take longer in an unoptimised build.
const PATIENCE: Duration = Duration::from_secs(20);

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let number = |flag: &str| {
        let at = arguments.iter().position(|argument| argument == flag)?;
        arguments.get(at + 1)?.parse::<u64>().ok()
    };
    if arguments.iter().any(|argument| argument == "--list") {
        println!("hostile: test");
        return ExitCode::SUCCESS;
    }
    let (seed, inputs) =
        (number("--seed").unwrap_or(1), number("--inputs").unwrap_or(USUAL_INPUTS));
    std::panic::set_hook(Box::new(|_| {}));
    let mut failed = false;
    for target in TARGETS {
        let mut good = (target.seeds)();
        good.retain(|one| one.len() <= target.longest);
        let inputs = if SLOW.contains(&target.name) { inputs.div_ceil(10) } else { inputs };
        let began = Instant::now();
        match attack(target, &good, seed, inputs) {
            Ok(()) => println!(
                "{}: {inputs} inputs from {} good ones, {} ms",
                target.name,
                good.len(),
                began.elapsed().as_millis()
            ),
            Err(says) => {
                eprintln!("{}: {says}", target.name);
                failed = true;
            }
        }
    }
    if failed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

fn attack(target: &Target, good: &[Vec<u8>], seed: u64, inputs: u64) -> Result<(), String> {
    if good.is_empty() {
        return Err("there is no good input to begin with".to_owned());
    }
    let mut chance = Chance::new(seed);
    for n in 0..inputs {
        let input = damaged(good, &mut chance);
        let began = Instant::now();
        let read = catch_unwind(AssertUnwindSafe(|| (target.reads)(&input)));
        let kept = || {
            let file = std::env::temp_dir().join(format!("hostile-{}-{seed}-{n}", target.name));
            fs::write(&file, &input).map_or_else(|e| e.to_string(), |()| file.display().to_string())
        };
        if read.is_err() {
            return Err(format!("panics; seed {seed}, input {n}, kept as {}", kept()));
        }
        if began.elapsed() > PATIENCE {
            let s = began.elapsed().as_secs();
            return Err(format!("takes {s} s; seed {seed}, input {n}, kept as {}", kept()));
        }
    }
    Ok(())
}

/// What a careless or hostile hand puts in.
const TOKENS: &[&str] = &[
    "",
    "\0",
    "-1",
    "0",
    "1e999",
    "9007199254740993",
    "18446744073709551616",
    "null",
    "[]",
    "{}",
    "\"",
    "\\u0000",
    "\u{202e}",
    "é",
    "\u{feff}",
    "NaN",
    "[[[[[[[[",
    "../",
    "<!ENTITY",
    "\n\n",
    ",",
    "1e-320",
    "-0.0",
    "99999999999999999999",
];

fn damaged(good: &[Vec<u8>], chance: &mut Chance) -> Vec<u8> {
    let pick = |chance: &mut Chance, of: usize| chance.between(0, of.max(1) as i64) as usize;
    let mut input = good[pick(chance, good.len())].clone();
    for _ in 0..chance.between(1, 6) {
        let at = pick(chance, input.len() + 1);
        let span = pick(chance, 64.min(input.len().saturating_sub(at) + 1));
        match chance.between(0, 7) {
            0 if at < input.len() => input[at] ^= 1 << chance.between(0, 8),
            1 => drop(input.drain(at..at + span)),
            2 => {
                let copy = input[at..at + span].to_vec();
                input.splice(at..at, copy);
            }
            3 => input.truncate(at),
            4 => {
                let other = &good[pick(chance, good.len())];
                let from = pick(chance, other.len() + 1);
                input.truncate(at);
                input.extend_from_slice(&other[from..]);
            }
            5 => {
                // A number for a number: what a reader trusts most.
                let digits: Vec<usize> =
                    (0..input.len()).filter(|i| input[*i].is_ascii_digit()).collect();
                if let Some(place) = digits.get(pick(chance, digits.len())) {
                    input[*place] = b"0123456789-.e"[pick(chance, 13)];
                }
            }
            _ => {
                let token = TOKENS[pick(chance, TOKENS.len())];
                input.splice(at..at, token.bytes());
            }
        }
    }
    input
}
