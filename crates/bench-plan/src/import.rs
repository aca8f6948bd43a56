//! Imports one of the open indoor data sets and prints what came of it; the account goes to standard error.
//! `import FILE`, below the data root's `indoor` folder.

use crate::data;
use anyhow::{Context, Result};
use floorplan::import::{self, Imported, Wishes};

pub(crate) fn run(args: &[String]) -> Result<()> {
    let file = args.first().map_or("osm-tud-apb.geojson", String::as_str);
    let Imported { plan, report } = read(file)?;
    eprint!("{report}");
    for finding in plan.check() {
        eprintln!("{finding}");
    }
    let floor_m2: f64 = plan.rooms.iter().map(|room| room.shape.area_m2()).sum();
    println!(
        "{}",
        serde_json::json!({
            "bench": "import", "file": file, "levels": plan.levels.len(), "rooms": plan.rooms.len(),
            "openings": plan.openings.len(), "links": plan.links.len(), "floor_m2": floor_m2, "plan": plan.digest().to_string(),
        })
    );
    Ok(())
}

/// The plan of one of the open indoor data sets.
pub fn read(file: &str) -> Result<Imported> {
    let path = data::path("indoor")?.join(file);
    let text =
        std::fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
    Ok(import::indoor_tagging_geojson(
        &text,
        &Wishes { name: file.to_owned(), ..Wishes::default() },
    )?)
}
