//! The one door for commands: `cargo x demo | test | bench | campaign | night | web | tidy`.
#![expect(clippy::disallowed_methods, reason = "a launcher times its stages")]

mod axe;
mod campaign;
mod checkers;
mod demo;
mod duties;
mod launch;
mod package;
mod pictures;
mod room;
mod test;
mod tidy;
mod tools;
mod web;

use anyhow::{Result, bail};
use std::env;

const USAGE: &str = "\
cargo x demo                  build the web parts, seed Gannet Quay, serve it, print where to look
cargo x test [STAGE …]        everything that must be green; with names, only those stages
cargo x bench NAME …          one measurement; without a name, their list
cargo x campaign NAME --for MINUTES [--resume]
                              a long test; its results add up in bench/results/
cargo x night FILE -o BUNDLE.zip
                              the record that a night tells, with throw-away keys
cargo x package [--binary-only]
                              the program with everything inside, a Debian package, what is built in
cargo x web                   build the phone and the drawing tool into target/web
cargo x pictures              the guides' pictures, from what the browser tests saw
cargo x tidy                  rooms, arrows, names in the map";

fn main() {
    if let Err(error) = run() {
        eprintln!("{error:#}");
        std::process::exit(1);
    }
}

/// What needs no server, or nothing but the server, lies in packages of its own, which build in a fraction of
/// the time.
fn bench_package(arguments: &[String]) -> String {
    let name = arguments.first().map(|name| name.replace('-', "_")).unwrap_or_default();
    let holds = |package: &str| {
        let file = format!("crates/{package}/src/{name}.rs");
        !name.is_empty() && launch::root().join(file).exists()
    };
    let light = ["bench-plan", "bench-paper", "bench-watch", "bench-house"]
        .into_iter()
        .find(|package| holds(package));
    format!("rattlewatch-{}", light.unwrap_or("bench"))
}

fn run() -> Result<()> {
    let mut arguments = env::args().skip(1);
    let command = arguments.next().unwrap_or_default();
    let rest: Vec<String> = arguments.collect();
    env::set_current_dir(launch::root())?;
    match command.as_str() {
        "demo" => demo::run(&rest),
        "test" => test::run(&rest),
        "bench" => launch::cargo_run(&bench_package(&rest), true, &rest),
        "campaign" => campaign::run(&rest),
        "night" => launch::cargo_run("rattlewatch-night", false, &rest),
        "package" => package::run(&rest),
        "web" => web::build(),
        "pictures" => pictures::run(),
        "tidy" => tidy::run(),
        "" | "help" | "--help" => {
            println!("{USAGE}");
            Ok(())
        }
        other => bail!("`cargo x {other}` is not a command. These are:\n{USAGE}"),
    }
}
