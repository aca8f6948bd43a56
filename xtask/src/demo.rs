//! `cargo x demo`: Gannet Quay, from nothing to the links.

use crate::{launch, web};
use anyhow::Result;
use std::process::Command;

/// Builds the phone and the program (which prints the reports), then lets the demonstration play.
///
/// Both programs are built at once: each alone would choose other features and build everything
/// below them twice.
pub(crate) fn run(arguments: &[String]) -> Result<()> {
    println!(
        "Building the phone, the desk and the demonstration (the first time: 10 to 20 minutes)."
    );
    web::build()?;
    launch::cargo(&["build", "--package", "rattlewatch", "--package", "rattlewatch-simulation"])?;
    let programs = launch::built()?.join("debug");
    let mut demonstration = Command::new(programs.join("rattlewatch-demo"));
    demonstration.arg("--printer").arg(programs.join("rattlewatch")).args(arguments);
    launch::program(&mut demonstration)
}
