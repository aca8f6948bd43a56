//! Room for what a run builds: said before the first minute is spent, not by a linker in the twentieth.

use crate::launch;
use anyhow::{Context, Result};
use std::path::Path;
use std::process::Command;

/// What a cold run leaves in the build folder, GiB: 13 measured, and what makes a second build quicker.
const COLD_GIB: u64 = 24;

/// What must stay free beside it: databases, browser profiles and pages of the tests, GiB.
const BESIDE_GIB: u64 = 4;

/// Says so if the disk of the build folder may turn out too small. How much is needed depends on the toolchain
/// and on what lies there already, so the run goes on.
pub(crate) fn warn_if_short() -> Result<()> {
    let target = launch::built()?;
    let there = target.exists();
    let built_gib = if there { kib(&["du", "-sk"], &target, 0)? >> 20 } else { 0 };
    let asked = if there { target } else { launch::root() };
    let free_gib = kib(&["df", "-Pk"], &asked, 3)? >> 20;
    let needed_gib = COLD_GIB.saturating_sub(built_gib) + BESIDE_GIB;
    if free_gib < needed_gib {
        println!(
            "little room: {free_gib} GiB are free, a cold run needs about {needed_gib}. If it fails, make room or \
             set CARGO_TARGET_DIR to a folder on another disk"
        );
    }
    Ok(())
}

/// A column of the last line that a program says of a folder, KiB.
fn kib(command: &[&str], folder: &Path, column: usize) -> Result<u64> {
    let said = Command::new(command[0]).args(&command[1..]).arg(folder).output()?;
    let said = String::from_utf8(said.stdout)?;
    let last = said.lines().last().and_then(|line| line.split_whitespace().nth(column));
    let last = last.with_context(|| format!("{} says nothing", command.join(" ")))?;
    last.parse().with_context(|| format!("{} says {last:?}", command.join(" ")))
}
