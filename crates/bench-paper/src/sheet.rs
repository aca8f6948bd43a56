//! `sheet --python PYTHON [--pages N] [--seed S] [--only NAME]`: log sheets printed by our program,
//! ticked and distorted by Pillow and OpenCV, read back by us.
//!
//! For each distortion: how many boxes were read rightly and surely, how many were flagged unsure, how
//! many were wrong and not flagged, and how many pages were refused with words.

use anyhow::{Context, Result, bail, ensure};
use bench_plan::options::Options;
use serde_json::{Value, json};
use sheet::{Expected, GrayPicture, Kind, Reading};
use std::path::Path;
use std::process::Command;

const DISTORT: &str = include_str!("sheet/distort.py");
const DISTORTIONS: &[&str] = &[
    "scan-300",
    "scan-200",
    "scan-150",
    "rotation",
    "perspective",
    "blur",
    "motion",
    "shadow",
    "stains",
    "bend",
    "jpeg",
    "noise",
    "phone",
];
/// Eight zones, so that a page is as full as it gets.
const NIGHT: &str = "\
site: Gannet Quay, 1 Quay Street, Gannet
id: w-bench-sheet
date: 2026-02-10
watch: 20:00 to 02:30
gap level-1: 15 min
gap level-2: 15 min
gap level-3: 15 min
gap level-4: 15 min
gap stair-a: 15 min
gap stair-b: 30 min
gap cellar: 30 min
gap roof: 60 min
people: Omar

20:00 Omar begins until 02:30
";
/// Pixels to a tenth of a millimetre at 300 dpi.
const SCALE: f64 = 300.0 / 254.0;

/// What came of one distortion.
#[derive(Default)]
struct Tally {
    pages: u64,
    refused: u64,
    boxes: u64,
    right: u64,
    unsure: u64,
    wrong: u64,
}

pub(crate) fn run(args: &[String]) -> Result<()> {
    let options = Options::new(args, &["python", "pages", "seed", "only", "keep"])?;
    let python: String = options.get("python", "python3".to_owned())?;
    let (pages, seed): (u64, u64) = (options.get("pages", 4)?, options.get("seed", 1)?);
    let only: String = options.get("only", String::new())?;
    let keep: String = options.get("keep", String::new())?;
    let folder = tempfile::tempdir()?;
    let boxes = print(folder.path())?;
    std::fs::write(folder.path().join("distort.py"), DISTORT)?;
    for name in DISTORTIONS.iter().filter(|name| only.is_empty() || **name == only) {
        let mut tally = Tally::default();
        let mut versions = Value::Null;
        // A few pictures at a time, so that the disk holds few.
        for part in 0..pages.div_ceil(8) {
            let count = 8.min(pages - part * 8);
            let made = distort(&python, folder.path(), name, seed * 1000 + part, count)?;
            versions = made["versions"].clone();
            for picture in made["pictures"].as_array().context("pictures")? {
                tally.take(folder.path(), picture, boxes, &keep)?;
            }
        }
        println!("{}", tally.to_json(name, seed, &versions));
    }
    Ok(())
}

/// Prints the sheets with our program and makes a picture of the first page; returns how many boxes it has.
fn print(folder: &Path) -> Result<usize> {
    std::fs::write(folder.join("sheet.pdf"), crate::printed::log_sheet(NIGHT)?)?;
    let mut poppler = Command::new("pdftoppm");
    poppler.args(["-r", "300", "-gray", "-png", "-f", "1", "-l", "1"]);
    poppler.arg(folder.join("sheet.pdf")).arg(folder.join("page"));
    done(&mut poppler)?;
    let page = std::fs::read_dir(folder)?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.extension().is_some_and(|end| end == "png"))
        .context("pdftoppm made no picture")?;
    std::fs::rename(&page, folder.join("page.png"))?;
    let picture = GrayPicture::decode(&std::fs::read(folder.join("page.png"))?)?;
    let reading = sheet::read(&picture, &Expected::default());
    let code = reading.code.context("the printed page was not read")?;
    let grid = code.grid.context("the first page has boxes")?;
    let places: Vec<Value> = grid
        .boxes()
        .map(|at| json!([f64::from(at.x) * SCALE, f64::from(at.y) * SCALE, 50.0 * SCALE]))
        .collect();
    std::fs::write(folder.join("boxes.json"), json!(places).to_string())?;
    Ok(places.len())
}

fn distort(python: &str, folder: &Path, name: &str, seed: u64, count: u64) -> Result<Value> {
    let mut command = Command::new(python);
    command.arg(folder.join("distort.py")).arg(folder.join("page.png"));
    command.arg(folder.join("boxes.json")).arg(folder);
    command.args([name, &seed.to_string(), &count.to_string()]);
    done(&mut command)
        .context("Pillow, OpenCV and NumPy are needed: name their python by --python")?;
    Ok(serde_json::from_slice(&std::fs::read(folder.join("truth.json"))?)?)
}

fn done(command: &mut Command) -> Result<()> {
    let output = command.output().with_context(|| format!("could not start {command:?}"))?;
    if !output.status.success() {
        bail!("{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
    Ok(())
}

impl Tally {
    fn take(&mut self, folder: &Path, picture: &Value, boxes: usize, keep: &str) -> Result<()> {
        let file = folder.join(picture["file"].as_str().context("a file")?);
        let bytes = std::fs::read(&file)?;
        std::fs::remove_file(&file)?;
        let reading = sheet::read(&GrayPicture::decode(&bytes)?, &Expected::default());
        self.pages += 1;
        if reading.kind == Kind::Notepad {
            ensure!(
                !reading.faults.is_empty() || reading.straightened.is_none(),
                "refused without words"
            );
            self.refused += 1;
            keep_it(keep, "refused", &file, &bytes, &reading)?;
            return Ok(());
        }
        let truth: Vec<bool> = serde_json::from_value(picture["ticked"].clone())?;
        ensure!(reading.boxes.len() == boxes && truth.len() == boxes, "the boxes do not match");
        self.boxes += boxes as u64;
        let mut wrong = 0;
        for (read, ticked) in reading.boxes.iter().zip(truth) {
            match (read.unsure, read.ticked == ticked) {
                (true, _) => self.unsure += 1,
                (false, true) => self.right += 1,
                (false, false) => {
                    wrong += 1;
                    eprintln!("wrong: {} {read:?}", file.display());
                }
            }
        }
        self.wrong += wrong;
        if wrong > 0 {
            keep_it(keep, "wrong", &file, &bytes, &reading)?;
        }
        Ok(())
    }

    fn to_json(&self, name: &str, seed: u64, versions: &Value) -> Value {
        let share = |n: u64| (n as f64 * 1e6 / self.boxes.max(1) as f64).round() / 1e4;
        json!({
            "bench": "sheet", "distortion": name, "seed": seed, "pages": self.pages,
            "pages_refused": self.refused, "boxes": self.boxes,
            "right_percent": share(self.right), "unsure_percent": share(self.unsure),
            "wrong_unflagged": self.wrong, "versions": versions,
        })
    }
}

/// Keeps a picture that went wrong and its straightened page, for whoever looks why.
fn keep_it(keep: &str, why: &str, file: &Path, bytes: &[u8], reading: &Reading) -> Result<()> {
    if keep.is_empty() {
        return Ok(());
    }
    let name = format!("{why}-{}", file.file_name().unwrap_or_default().display());
    std::fs::write(Path::new(keep).join(&name), bytes)?;
    if let Some(page) = &reading.straightened {
        std::fs::write(Path::new(keep).join(format!("{name}.straight.png")), page.to_png())?;
    }
    Ok(())
}
