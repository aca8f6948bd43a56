//! What is handed out: the program with everything inside, a Debian package, a list of what is built in.

mod built_in;
mod debian;

use crate::{launch, web};
use anyhow::{Context, Result, ensure};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Command;

const OUT: &str = "target/package";
/// Where the phone and the drawing tool run.
const BROWSER: &str = "wasm32-unknown-unknown";

/// Builds the phone into the program; then, unless only that was asked, the list and the package.
pub(crate) fn run(arguments: &[String]) -> Result<()> {
    web::build()?;
    let mut cargo = Command::new(env!("CARGO"));
    cargo
        .args(["build", "--release", "--locked", "--package", "rattlewatch"])
        .env("RATTLEWATCH_WEB", launch::root().join("target/web"));
    launch::program(&mut cargo)?;
    fs::create_dir_all(OUT)?;
    let program = Path::new(OUT).join("rattlewatch");
    fs::copy(launch::built()?.join("release/rattlewatch"), &program)?;
    println!("{}", program.display());
    if arguments.iter().any(|argument| argument == "--binary-only") {
        return Ok(());
    }
    let (here, browser) = (metadata(&host()?)?, metadata(BROWSER)?);
    let committed = Committed::of_head();
    let list = Path::new(OUT).join("rattlewatch.cdx.json");
    let parts = [(&here, &["rattlewatch"][..]), (&browser, web::ROOMS)];
    let built_in = built_in::list(&parts, committed.as_ref())?;
    fs::write(&list, serde_json::to_vec_pretty(&built_in)?)?;
    println!("{}", list.display());
    let package = debian::pack(&program, &list, version(&here)?, committed.as_ref())?;
    println!("{}", package.display());
    Ok(())
}

/// What cargo knows of everything that may be built for a platform.
fn metadata(platform: &str) -> Result<Value> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--filter-platform", platform])
        .output()?;
    ensure!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn host() -> Result<String> {
    let output = Command::new("rustc").args(["--version", "--verbose"]).output()?;
    let text = String::from_utf8(output.stdout)?;
    let host = text.lines().find_map(|line| line.strip_prefix("host: "));
    Ok(host.context("rustc names its host")?.to_owned())
}

/// When what is built was committed: the only time that may stand in a package which comes out the same
/// whoever builds it.
struct Committed {
    /// Since 1970, as `SOURCE_DATE_EPOCH` wants it.
    seconds: String,
    /// UTC, as RFC 3339 has it.
    date: String,
}

impl Committed {
    /// None outside a repository.
    fn of_head() -> Option<Committed> {
        let mut git = Command::new("git");
        git.args(["log", "-1", "--format=%ct %cd", "--date=format-local:%FT%TZ"]).env("TZ", "UTC");
        let text = String::from_utf8(git.output().ok()?.stdout).ok()?;
        let (seconds, date) = text.trim().split_once(' ')?;
        Some(Committed { seconds: seconds.to_owned(), date: date.to_owned() })
    }
}

fn version(metadata: &Value) -> Result<&str> {
    let packages = metadata["packages"].as_array().context("packages")?;
    let ours = packages.iter().find(|package| package["name"] == "rattlewatch");
    ours.and_then(|package| package["version"].as_str()).context("the program has a version")
}
