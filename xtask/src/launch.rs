//! Starting other programs, loudly when they fail.

use anyhow::{Context, Result, bail};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The workspace's root.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the root").to_owned()
}

/// Where cargo lays what it builds: `target`, unless the user's settings name another folder.
pub(crate) fn built() -> Result<PathBuf> {
    let mut command = Command::new(env!("CARGO"));
    let output = command.args(["metadata", "--format-version", "1", "--no-deps"]).output()?;
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout)
        .with_context(|| String::from_utf8_lossy(&output.stderr).into_owned())?;
    let folder = metadata["target_directory"].as_str().context("cargo names its folder")?;
    Ok(folder.into())
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
