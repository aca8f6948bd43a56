//! Everything that must be green, stage by stage, each with its minutes against a printed budget.

use crate::{axe, checkers, launch, tidy, tools, web};
use anyhow::{Context, Result, bail};
use std::process::Command;
use std::time::Instant;

/// One stage and the minutes that it may take on a cold machine with two cores.
struct Stage {
    name: &'static str,
    budget_min: u32,
    run: fn() -> Result<()>,
}

/// In this order, because the cheap ones fail first. Together at most 60 minutes.
const STAGES: &[Stage] = &[
    Stage { name: "tools", budget_min: 2, run: tools::ensure },
    Stage { name: "format", budget_min: 1, run: format },
    Stage { name: "tidy", budget_min: 1, run: tidy::run },
    Stage { name: "web", budget_min: 7, run: web::build },
    Stage { name: "wasm", budget_min: 2, run: wasm },
    Stage { name: "clippy", budget_min: 8, run: clippy },
    Stage { name: "tests", budget_min: 25, run: tests },
    Stage { name: "browser", budget_min: 14, run: browser },
];

/// Rooms that must think on a phone as well.
pub(crate) const PURE: &[&str] = &[
    "ledger",
    "record",
    "geometry",
    "words",
    "floorplan",
    "watch",
    "rules",
    "planner",
    "picture",
    "sheet",
    "bundle",
    "phone",
];

/// Runs all stages, or those that are named.
pub(crate) fn run(names: &[String]) -> Result<()> {
    for name in names {
        if !STAGES.iter().any(|stage| stage.name == name) {
            let known: Vec<&str> = STAGES.iter().map(|stage| stage.name).collect();
            bail!("no stage {name:?}; there are: {}", known.join(", "));
        }
    }
    let mut table = String::new();
    for stage in STAGES.iter().filter(|s| names.is_empty() || names.iter().any(|n| n == s.name)) {
        println!("== {}", stage.name);
        let began = Instant::now();
        (stage.run)()?;
        let took_min = began.elapsed().as_secs_f32() / 60.0;
        table += &format!("{:<10}{took_min:>6.1} min of {:>2}\n", stage.name, stage.budget_min);
    }
    print!("\n{table}");
    Ok(())
}

/// `cargo fmt` does not reach files whose `mod` a macro writes, so every file is asked for by name as well.
fn format() -> Result<()> {
    launch::cargo(&["fmt", "--all", "--check"])?;
    let mut rustfmt = Command::new("rustfmt");
    rustfmt.args(["--check", "--edition", "2024"]).args(tidy::tracked("*.rs")?);
    if !rustfmt.status().context("rustfmt could not be started")?.success() {
        bail!(
            "files that `cargo fmt` does not reach: write them with `rustfmt --edition 2024 FILE`"
        );
    }
    Ok(())
}

fn wasm() -> Result<()> {
    tools::ensure_wasm_target()?;
    let packages: Vec<String> = PURE
        .iter()
        .filter(|name| std::path::Path::new("crates").join(name).exists())
        .flat_map(|name| ["--package".to_owned(), format!("rattlewatch-{name}")])
        .collect();
    let mut command = Command::new(env!("CARGO"));
    command.args(["check", "--quiet", "--target", "wasm32-unknown-unknown"]).args(packages);
    launch::program(&mut command)
}

/// The browser's tests are asked for by name: they are not among all targets.
fn clippy() -> Result<()> {
    for targets in [&["--all-targets"][..], &["--test", BROWSER]] {
        let mut arguments = vec!["clippy", "--quiet", "--workspace"];
        arguments.extend_from_slice(targets);
        arguments.extend(["--", "-D", "warnings"]);
        launch::cargo(&arguments)?;
    }
    Ok(())
}

/// The program of `rattlewatch` that drives the built phone in a browser.
const BROWSER: &str = "browser";

/// Both stages name the same rooms, so that what both need is built once: other rooms, other features of the libraries.
const BUILT: &[&str] =
    &["test", "--workspace", "--exclude", "rattlewatch-phone-web", "--no-fail-fast"];

fn tests() -> Result<()> {
    checkers::ensure()?;
    launch::cargo(BUILT)
}

/// The real program and the real phone in a real Chromium, two nights at a time: most of a night is waiting.
fn browser() -> Result<()> {
    axe::ensure()?;
    launch::cargo(&[BUILT, &["--test", BROWSER, "--", "--test-threads=2"]].concat())
}
