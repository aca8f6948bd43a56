//! Starting other programs, loudly when they fail.

use anyhow::{Context, Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The workspace's root.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the root").to_owned()
}

/// Runs cargo with arguments and waits.
pub(crate) fn cargo(arguments: &[&str]) -> Result<()> {
    program(Command::new(env!("CARGO")).args(arguments))
}

/// Runs the program of one of our packages.
pub(crate) fn cargo_run(package: &str, release: bool, arguments: &[String]) -> Result<()> {
    let mut command = Command::new(env!("CARGO"));
    command.args(["run", "--quiet", "--package", package]);
    if release {
        command.arg("--release");
    }
    program(command.arg("--").args(arguments))
}

/// Runs a command and fails with its spelling if it fails.
pub(crate) fn program(command: &mut Command) -> Result<()> {
    let spelling = format!("{command:?}").replace('"', "");
    let status = command.status().with_context(|| format!("could not start: {spelling}"))?;
    if !status.success() {
        bail!("failed ({status}): {spelling}");
    }
    Ok(())
}
