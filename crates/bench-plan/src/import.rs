//! Imports one of the open indoor data sets and prints what came of it; the account goes to standard error.
//! `import FILE [PLAN]`, below the data root's `indoor` folder; the plan is written to PLAN.

use crate::data;
use anyhow::{Context, Result, ensure};
use floorplan::import::{self, Imported, Wishes};

pub(crate) fn run(args: &[String]) -> Result<()> {
    let file = args.first().map_or("osm-tud-apb.geojson", String::as_str);
    let Imported { plan, report } = read(file)?;
    eprint!("{report}");
    let faults = plan.check();
    faults.iter().for_each(|fault| eprintln!("{fault}"));
    if let Some(path) = args.get(1) {
        std::fs::write(path, plan.pretty()).with_context(|| format!("writing {path}"))?;
    }
    let floor_m2: f64 = plan.rooms.iter().map(|room| room.shape.area_m2()).sum();
    println!(
        "{}",
        serde_json::json!({
            "bench": "import", "file": file, "levels": plan.levels.len(), "rooms": plan.rooms.len(),
            "openings": plan.openings.len(), "links": plan.links.len(), "floor_m2": floor_m2, "faults": faults.len(),
            "plan": plan.digest().to_string(),
        })
    );
    ensure!(faults.is_empty(), "the plan of {file} does not pass its check");
    Ok(())
}

/// The open indoor data sets whose layers or properties have to be named, or that are several files.
const SETS: &[(&str, &[&str], Option<&str>)] = &[(
    "westport-house",
    &[
        "westport-house-floor-gf.geojson",
        "westport-house-floor-1.geojson",
        "westport-house-floor-2.geojson",
        "westport-house-floor-3.geojson",
        "westport-house-floor-4.geojson",
        "westport-house-floor-5.geojson",
        "westport-house-floor-6.geojson",
    ],
    Some(WESTPORT),
)];

const WESTPORT: &str = r#"
kind = "type"
name = "name"
outline = ["building_outline"]
wall = ["wall"]
window = ["window"]
door = ["door"]
stair = ["stairs"]
lift = ["elevator"]
room = ["bathroom", "room"]
blocked = ["inaccessible_space", "floor_opening"]
"#;

/// The plan of one of the open indoor data sets, its format recognised as the command line does.
pub fn read(set: &str) -> Result<Imported> {
    let folder = data::path("indoor")?;
    let known = SETS.iter().find(|(name, ..)| *name == set);
    let names: Vec<String> = match known {
        Some((_, files, _)) => files.iter().map(|file| format!("{set}/{file}")).collect(),
        None => vec![set.to_owned()],
    };
    let mut contents = Vec::new();
    for name in names {
        let path = folder.join(&name);
        let bytes = std::fs::read(&path).with_context(|| format!("reading {}", path.display()))?;
        let stem = path.file_stem().map_or(name.clone(), |s| s.to_string_lossy().into_owned());
        contents.push((stem, bytes));
    }
    let files: Vec<(&str, &[u8])> =
        contents.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    let wishes = Wishes { name: set.to_owned(), ..Wishes::default() };
    Ok(import::read_all(&files, None, known.and_then(|(_, _, map)| *map), &wishes)?)
}
