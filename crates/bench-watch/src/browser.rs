//! A page in a headless Chromium, and what it shows when it has loaded.

use anyhow::{Context, Result, ensure};
use base64::Engine as _;
use serde_json::Value;
use std::process::Command;

/// Loads a page that writes JSON between `[[` and `]]` into its body before it has loaded; returns that.
///
/// # Errors
/// Chromium cannot be started or fails, or the page shows nothing.
pub(crate) fn shown(chromium: &str, page: &str) -> Result<Value> {
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("page.html");
    std::fs::write(&file, page)?;
    let profile = format!("--user-data-dir={}", folder.path().join("profile").display());
    let shown = printed(
        Command::new(chromium)
            .args(["--headless", "--no-sandbox", "--dump-dom", "--timeout=600000", &profile])
            .arg(format!("file://{}", file.display())),
    )?;
    let text = shown.split_once("[[").and_then(|(_, rest)| rest.split_once("]]"));
    Ok(serde_json::from_str(text.context("the page shows its results")?.0)?)
}

/// What a program prints; its own words when it fails.
fn printed(command: &mut Command) -> Result<String> {
    let output = command.output().with_context(|| format!("{command:?} could not be started"))?;
    let says = String::from_utf8_lossy(&output.stderr);
    ensure!(output.status.success(), "{command:?} failed: {says}");
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}

pub(crate) fn base64(bytes: &[u8]) -> String {
    base64::engine::general_purpose::STANDARD.encode(bytes)
}

/// The middle one; of an even number the later of the two.
pub(crate) fn median(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
