//! `survey FILE`: imports an open indoor data set, surveys it, and prints the survey and the time it took.

use crate::import;
use anyhow::{Context, Result};
use floorplan::{Circumstances, Limits, survey};
use std::path::Path;
use std::time::Instant;

#[expect(clippy::disallowed_methods, reason = "a measurement reads the clock")]
pub(crate) fn run(args: &[String]) -> Result<()> {
    let file = args.first().map_or("osm-tud-apb.geojson", String::as_str);
    let began = Instant::now();
    let plan = import::read(file)?.plan;
    let import_ms = began.elapsed().as_secs_f64() * 1e3;
    let circumstances =
        Circumstances { sprinklered: false, occupancy: "B".to_owned(), construction: false };
    let began = Instant::now();
    let found = survey(&plan, &limits()?, &circumstances);
    let survey_ms = began.elapsed().as_secs_f64() * 1e3;
    let mut json = found.json(&plan);
    json["bench"] = "survey".into();
    json["file"] = file.into();
    json["import_ms"] = import_ms.into();
    json["survey_ms"] = survey_ms.into();
    println!("{json}");
    Ok(())
}

/// The limits of `standards/site`.
pub fn limits() -> Result<Limits> {
    let mut files = Vec::new();
    for folder in ["survey", "walking"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../standards/site").join(folder);
        for entry in
            std::fs::read_dir(&path).with_context(|| format!("reading {}", path.display()))?
        {
            let path = entry?.path();
            files.push((path.display().to_string(), std::fs::read_to_string(&path)?));
        }
    }
    files.sort();
    Ok(Limits::read(files.iter().map(|(name, text)| (name.as_str(), text.as_str())))?)
}
