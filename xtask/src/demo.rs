//! `cargo x demo`: Gannet Quay, from nothing to the links.

use crate::{launch, web};
use anyhow::Result;

/// Builds the phone and the program (which prints the reports), then lets the demonstration play.
pub(crate) fn run(arguments: &[String]) -> Result<()> {
    web::build()?;
    launch::cargo(&["build", "--quiet", "--package", "rattlewatch"])?;
    let printer = ["--printer", "target/debug/rattlewatch"].map(str::to_owned);
    let arguments: Vec<String> = printer.into_iter().chain(arguments.iter().cloned()).collect();
    launch::cargo_run("rattlewatch-simulation", false, &arguments)
}
