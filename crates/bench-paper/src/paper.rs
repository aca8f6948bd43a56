//! `paper --python PYTHON [--chromium PROGRAM] [--chromedriver PROGRAM] [--runs N] [--photos N]`: night reports
//! printed by us, by a headless browser and by a Python library, the same content, in one run.
//!
//! *First*: a fresh process each time, from start to end. *Next*: another night in a process that has printed
//! before. Ours begins with the bundle, which it verifies and folds; the peers begin with content that is ready
//! (the browser with HTML, the library with JSON). Memory is the greatest sum over the processes of one report.

mod content;
mod memory;

use crate::printed::{bundle_of, fold};
use anyhow::{Context, Result, bail};
use bench_plan::options::Options;
use bench_plan::stopwatch::Stopwatch;
use report::{Folded, Kind, compose};
use serde_json::{Value, json};
use std::path::Path;
use std::process::{Command, Stdio};

const PEER: &str = include_str!("paper/peer.py");

/// What the run was asked for.
struct Asked {
    python: String,
    chromium: String,
    chromedriver: String,
    runs: u32,
    photos: u32,
}

pub(crate) fn run(args: &[String]) -> Result<()> {
    if let [word, folder, photos] = args
        && word == "child"
    {
        return child(Path::new(folder), photos.parse()?);
    }
    let known = ["python", "chromium", "chromedriver", "runs", "photos"];
    let options = Options::new(args, &known)?;
    let asked = Asked {
        python: options.get("python", "python3".to_owned())?,
        chromium: options.get("chromium", "chromium".to_owned())?,
        chromedriver: options.get("chromedriver", "chromedriver".to_owned())?,
        runs: options.get("runs", 7)?,
        photos: options.get("photos", 300)?,
    };
    let folder = tempfile::tempdir()?;
    let folder = folder.path();
    std::fs::write(folder.join("peer.py"), PEER)?;
    println!("{}", versions(&asked, folder)?);
    let lines = content::write(folder, 0)?;
    let first = firsts(&asked, folder)?;
    let next = nexts(&asked, folder)?;
    println!(
        "{}",
        json!({"bench": "paper", "what": "size", "sizes": sizes(folder)?, "lines": lines})
    );
    for (who, first_s) in &first {
        let next_s = next.iter().find(|(of, _)| of == who).map_or(f64::NAN, |(_, s)| *s);
        println!(
            "{}",
            json!({"bench": "paper", "what": "time", "who": who, "first_s": first_s, "next_s": next_s,
                "first_of_ours": first_s / first[0].1, "next_of_ours": next_s / next[0].1})
        );
    }
    for photos in [0, asked.photos] {
        println!("{}", with_photos(&asked, folder, photos)?);
    }
    Ok(())
}

/// Reads the bundle of a folder, prints its report, says how much memory that took.
fn child(folder: &Path, photos: u32) -> Result<()> {
    let mut folded = fold(&std::fs::read(folder.join("watch.zip"))?)?;
    if photos > 0 {
        content::put_photos(&mut folded, folder)?;
    }
    std::fs::write(folder.join("ours.pdf"), print(&folded)?)?;
    Ok(())
}

fn print(folded: &Folded) -> Result<Vec<u8>> {
    Ok(Kind::Night.to_pdf(&folded.whole(), "bench")?)
}

/// Ours, in a process of its own.
fn ours(folder: &Path, photos: u32) -> Result<Command> {
    let mut command = Command::new(std::env::current_exe()?);
    command.args(["paper", "child"]).arg(folder).arg(photos.to_string());
    Ok(command)
}

fn browser(asked: &Asked, folder: &Path) -> Command {
    let mut command = Command::new(&asked.chromium);
    let profile = folder.join("profile");
    command
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"])
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg(format!("--print-to-pdf={}", folder.join("browser.pdf").display()))
        .arg(format!("file://{}", folder.join("report.html").display()));
    command
}

fn library(asked: &Asked, folder: &Path, what: &str) -> Command {
    let mut command = Command::new(&asked.python);
    command.arg(folder.join("peer.py")).arg(what).arg(folder);
    command
}

/// Median wall times of fresh processes.
fn firsts(asked: &Asked, folder: &Path) -> Result<Vec<(&'static str, f64)>> {
    let mut times = vec![("ours", Vec::new()), ("browser", Vec::new()), ("library", Vec::new())];
    for _ in 0..asked.runs {
        for (who, seconds) in &mut times {
            let mut command = match *who {
                "ours" => ours(folder, 0)?,
                "browser" => browser(asked, folder),
                _ => library(asked, folder, "first"),
            };
            let watch = Stopwatch::start(0.0);
            done(&mut command)?;
            seconds.push(watch.seconds());
        }
    }
    Ok(times.into_iter().map(|(who, seconds)| (who, middle(seconds))).collect())
}

/// Median times of further nights in one process.
fn nexts(asked: &Asked, folder: &Path) -> Result<Vec<(&'static str, f64)>> {
    let mut seconds = Vec::new();
    for n in 0..=asked.runs {
        let bundle = bundle_of(&content::night(n))?;
        let watch = Stopwatch::start(0.0);
        print(&fold(&bundle)?)?;
        // The first one warms up.
        if n > 0 {
            seconds.push(watch.seconds());
        }
        content::write_more(folder, n)?;
    }
    let said = |command: &mut Command| -> Result<f64> {
        let output = command.output().with_context(|| format!("could not start {command:?}"))?;
        if !output.status.success() {
            bail!("{command:?}: {}", String::from_utf8_lossy(&output.stderr));
        }
        let times: Vec<f64> = serde_json::from_slice(&output.stdout)?;
        Ok(middle(times))
    };
    let mut driven = library(asked, folder, "browser");
    driven.arg(&asked.chromedriver).arg(&asked.chromium).arg(asked.runs.to_string());
    let mut again = library(asked, folder, "next");
    again.arg(asked.runs.to_string());
    Ok(vec![
        ("ours", middle(seconds)),
        ("browser", said(&mut driven)?),
        ("library", said(&mut again)?),
    ])
}

/// Bytes of the same report: ours with tags and without, the peers'.
fn sizes(folder: &Path) -> Result<Value> {
    let folded = fold(&std::fs::read(folder.join("watch.zip"))?)?;
    let request = folded.whole();
    let untagged = compose(&request).to_pdf_untagged("bench", request.issue.issued_ms)?;
    let size = |name: &str| -> Result<u64> { Ok(std::fs::metadata(folder.join(name))?.len()) };
    Ok(json!({
        "ours_tagged": size("ours.pdf")?, "ours_untagged": untagged.len(),
        "browser": size("browser.pdf")?, "library": size("library.pdf")?,
    }))
}

fn with_photos(asked: &Asked, folder: &Path, photos: u32) -> Result<Value> {
    let each = folder.join(format!("with-{photos}"));
    std::fs::create_dir_all(&each)?;
    std::fs::copy(folder.join("peer.py"), each.join("peer.py"))?;
    if photos > 0 {
        let mut taken = library(asked, &each, "photos");
        done(taken.arg(photos.to_string()))?;
    }
    content::write_with_photos(&each, photos)?;
    let mut said = json!({"bench": "paper", "what": "photos", "photos": photos});
    for (who, command, pdf) in [
        ("ours", ours(&each, photos)?, "ours.pdf"),
        ("browser", browser(asked, &each), "browser.pdf"),
        ("library", library(asked, &each, "first"), "library.pdf"),
    ] {
        let (seconds, peak_kib) = memory::greatest(command)?;
        let bytes = std::fs::metadata(each.join(pdf))?.len();
        said[who] = json!({"s": seconds, "peak_mib": peak_kib / 1024, "pdf_bytes": bytes});
    }
    Ok(said)
}

fn versions(asked: &Asked, folder: &Path) -> Result<Value> {
    let output = library(asked, folder, "versions").output().context("python")?;
    if !output.status.success() {
        bail!(
            "reportlab, Pillow and NumPy are needed: name their python by --python: {}",
            String::from_utf8_lossy(&output.stderr)
        );
    }
    let browser = Command::new(&asked.chromium).arg("--version").output().context("chromium")?;
    let browser = String::from_utf8_lossy(&browser.stdout).trim().to_owned();
    let library: Value = serde_json::from_slice(&output.stdout)?;
    // Times of a build without optimisation say nothing; sizes and memory hold.
    let optimised = !cfg!(debug_assertions);
    Ok(json!({
        "bench": "paper", "what": "versions", "browser": browser, "library": library,
        "ours_optimised": optimised,
    }))
}

fn done(command: &mut Command) -> Result<()> {
    let output = command
        .stdin(Stdio::null())
        .output()
        .with_context(|| format!("could not start {command:?}"))?;
    if !output.status.success() {
        bail!("{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
    Ok(())
}

fn middle(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len() / 2).copied().unwrap_or(f64::NAN)
}
