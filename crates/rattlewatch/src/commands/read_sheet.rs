//! `rattlewatch read-sheet PICTURE … --json`: what stands on a photographed or scanned log sheet.

use anyhow::{Context, anyhow};
use sheet::{Expected, Fault, GrayPicture, Kind, Reading, ZoneRef, missing_pages};
use std::path::PathBuf;
use std::process::ExitCode;
use words::Lang;

/// Read photographed or scanned log sheets
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The pictures, JPEG, PNG or WebP; several are taken as the pages of one set
    #[arg(required = true, value_name = "PICTURE")]
    pictures: Vec<PathBuf>,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// The bundle of the watch that the sheet should belong to
    #[arg(long, value_name = "BUNDLE")]
    from: Option<PathBuf>,
    /// The id of the watch that the sheet should belong to
    #[arg(long, value_name = "WATCH", conflicts_with = "from")]
    watch: Option<String>,
    /// The picture is said to be one of our log sheets: anything else is a fault
    #[arg(long)]
    sheet: bool,
    /// Write the straightened page of the first picture to this file
    #[arg(long, value_name = "FILE.png")]
    straightened: Option<PathBuf>,
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
}

/// Exit code when something does not fit.
const FAULTS: u8 = 1;

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let lang = args.lang;
    let expected = expected(&args)?;
    let mut readings = Vec::new();
    for path in &args.pictures {
        let named = || path.display().to_string();
        let bytes =
            std::fs::read(path).with_context(|| format!("{} could not be read", named()))?;
        let picture = GrayPicture::decode(&bytes).with_context(named)?;
        readings.push(sheet::read(&picture, &expected));
    }
    if let Some(path) = &args.straightened {
        let page = readings[0].straightened.as_ref().ok_or_else(|| {
            anyhow!(
                "the page cannot be straightened: its four corner marks are not all in the picture"
            )
        })?;
        std::fs::write(path, page.to_png())
            .with_context(|| format!("{} could not be written", path.display()))?;
    }
    let of_set = match readings.len() {
        1 => Vec::new(),
        _ => missing_pages(&readings),
    };
    super::put(&match args.json {
        true => as_json(&readings, &of_set, lang),
        false => in_words(&args, &readings, &of_set, lang),
    })?;
    let fits = of_set.is_empty() && readings.iter().all(|reading| reading.faults.is_empty());
    Ok(if fits { ExitCode::SUCCESS } else { ExitCode::from(FAULTS) })
}

fn expected(args: &Args) -> anyhow::Result<Expected> {
    let mut expected = Expected { is_sheet: args.sheet, ..Expected::default() };
    if let Some(id) = &args.watch {
        expected.watch = Some(ledger::WatchId::new(id.as_str())?);
    }
    if let Some(path) = &args.from {
        let bytes =
            std::fs::read(path).with_context(|| format!("{} could not be read", path.display()))?;
        let report::Folded { watch, last_rx_ms, .. } = report::from_bundle(bundle::open(&bytes))?;
        let state = watch.about(last_rx_ms.unwrap_or(0));
        let zones = state.zones.iter().map(|zone| zone.id.clone()).collect();
        let opening = state.opening.as_ref();
        let span_ms = opening.and_then(|opening| Some((opening.from_ms, opening.until_ms?)));
        let is_sheet = args.sheet;
        expected = Expected { is_sheet, ..Expected::of_watch(watch.id().clone(), zones, span_ms) };
    }
    Ok(expected)
}

fn as_json(readings: &[Reading], of_set: &[Fault], lang: Lang) -> String {
    let pages: Vec<serde_json::Value> = readings.iter().map(|r| r.to_json(lang)).collect();
    let value = match pages.len() {
        1 => pages.into_iter().next().unwrap_or_default(),
        _ => {
            let faults: Vec<serde_json::Value> = of_set
                .iter()
                .map(|fault| serde_json::json!({ "is": fault.name(), "says": fault.say(lang) }))
                .collect();
            serde_json::json!({ "v": 1, "pages": pages, "faults": faults })
        }
    };
    format!("{value:#}\n")
}

fn in_words(args: &Args, readings: &[Reading], of_set: &[Fault], lang: Lang) -> String {
    let mut lines: Vec<String> = Vec::new();
    for (path, reading) in args.pictures.iter().zip(readings) {
        lines.push(format!("{}: {}", path.display(), kind_words(reading, lang)));
        lines.extend(rows(reading).iter().map(|row| format!("  {row}")));
        lines.extend(reading.faults.iter().map(|fault| format!("  {}", fault.say(lang))));
    }
    lines.extend(of_set.iter().map(|fault| fault.say(lang).to_string()));
    lines
        .iter()
        .map(|line| {
            format!(
                "{line}
"
            )
        })
        .collect()
}

fn kind_words(reading: &Reading, lang: Lang) -> String {
    match (reading.kind, &reading.code) {
        (Kind::Sheet, Some(code)) => {
            let sure = reading.boxes.iter().filter(|one| one.ticked && !one.unsure).count();
            let unsure = reading.boxes.iter().filter(|one| one.unsure).count();
            words::sheet::read_as_sheet(lang, code.says(), sure as i64, unsure)
        }
        _ => words::sheet::read_as_notepad(lang).to_owned(),
    }
}

/// A line for each row with its window, its zones that are ticked, and `?` behind what is unsure.
fn rows(reading: &Reading) -> Vec<String> {
    let tz_min = reading.code.as_ref().map_or(0, |code| i64::from(code.tz_min));
    let mut rows: Vec<String> = Vec::new();
    for chunk in reading.boxes.chunk_by(|a, b| a.row == b.row) {
        let window = chunk[0].window.map_or(format!("{}", chunk[0].row + 1), |window| {
            let clock = |at_ms| words::clock(at_ms, tz_min);
            format!("{}–{}", clock(window.from_ms), clock(window.until_ms))
        });
        let seen = chunk.iter().filter(|one| one.ticked || one.unsure).map(|one| {
            let zone = match &one.zone {
                ZoneRef::Id(id) => id.to_string(),
                ZoneRef::Digest(digest) => digest.clone(),
                ZoneRef::Blank => format!("{}", one.column + 1),
            };
            format!("{zone}{}", if one.unsure { "?" } else { "" })
        });
        rows.push(format!("{window}  {}", seen.collect::<Vec<_>>().join(", ")));
    }
    rows
}
