//! What a reader relies on and no compiler checks: which room may import which, that the map names
//! rooms that exist, that links lead somewhere, that no room swells or loses its subject.

use crate::web::files_under;
use anyhow::{Context, Result, bail};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Command;

/// The arrows of `ARCHITECTURE.md`: a room and the rooms it may import.
const ARROWS: &[(&str, &[&str])] = &[
    ("ledger", &[]),
    ("record", &["ledger"]),
    ("geometry", &[]),
    ("words", &[]),
    ("floorplan", &["geometry"]),
    ("watch", &["ledger", "record"]),
    ("rules", &["ledger", "record", "words", "geometry", "watch", "floorplan", "planner"]),
    ("planner", &["ledger", "record", "words", "floorplan", "geometry"]),
    ("staffing", &["ledger", "record", "words", "floorplan", "geometry", "planner"]),
    (
        "picture",
        &["ledger", "record", "geometry", "floorplan", "planner", "watch", "rules", "words"],
    ),
    ("sheet", &["ledger", "record", "watch", "words"]),
    ("bundle", &["ledger", "record", "watch"]),
    (
        "report",
        &[
            "ledger",
            "record",
            "watch",
            "rules",
            "floorplan",
            "planner",
            "picture",
            "sheet",
            "words",
            "bundle",
        ],
    ),
    ("phone", &["ledger", "record", "watch", "rules", "floorplan", "planner", "sheet", "words"]),
    ("phone-camera", &["phone", "sheet"]),
    ("store", &["ledger"]),
    ("phone-web", &["phone", "picture", "words"]),
    ("plan-web", &["floorplan", "planner", "picture", "words"]),
    (
        "server",
        &[
            "ledger",
            "record",
            "geometry",
            "words",
            "floorplan",
            "watch",
            "rules",
            "planner",
            "staffing",
            "picture",
            "sheet",
            "bundle",
            "report",
            "phone",
            "store",
        ],
    ),
    (
        "rattlewatch",
        &[
            "ledger",
            "record",
            "geometry",
            "words",
            "floorplan",
            "watch",
            "rules",
            "planner",
            "staffing",
            "picture",
            "sheet",
            "bundle",
            "report",
            "phone",
            "store",
            "server",
        ],
    ),
    ("night", &["ledger", "record", "bundle", "watch"]),
];

/// Rooms for development may import anything that is not a web crate.
const DEVELOPMENT: &[&str] = &[
    "fuzz",
    "simulation",
    "sameness",
    "bench-plan",
    "bench-paper",
    "bench-watch",
    "bench-house",
    "bench",
    "xtask",
];
const WEB: &[&str] = &["phone-camera", "phone-web", "plan-web"];
/// Asks the drawing tool natively what it answers in a browser, and compares.
const MEASURED: (&str, &str) = ("bench-watch", "plan-web");

/// What the phone must never carry.
const NOT_ON_A_PHONE: &[&str] = &["typst", "sqlx", "axum", "hyper", "good_lp"];

/// A room whose largest file passes this has more than one subject.
const LINES_MAX: usize = 700;

/// Runs every check and names all that fails.
pub(crate) fn run() -> Result<()> {
    let metadata = metadata()?;
    let mut faults = Vec::new();
    arrows(&metadata, &mut faults);
    faults.extend(crate::pictures::strangers()?);
    phone_stays_light(&metadata, &mut faults);
    map_names_exist(&metadata, &mut faults)?;
    links_lead_somewhere(&mut faults)?;
    rooms_keep_their_subject(&mut faults)?;
    crate::duties::check(&tracked("*.rs")?, &mut faults)?;
    if faults.is_empty() {
        return Ok(());
    }
    bail!("tidy:\n  {}", faults.join("\n  "))
}

fn metadata() -> Result<Value> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked"])
        .output()?;
    if !output.status.success() {
        bail!("cargo metadata: {}", String::from_utf8_lossy(&output.stderr));
    }
    serde_json::from_slice(&output.stdout).context("cargo metadata prints JSON")
}

/// Our packages by room name, with their normal dependencies.
fn rooms(metadata: &Value) -> BTreeMap<String, BTreeSet<String>> {
    let members: BTreeSet<&str> =
        list(&metadata["workspace_members"]).iter().filter_map(Value::as_str).collect();
    list(&metadata["packages"])
        .iter()
        .filter(|package| package["id"].as_str().is_some_and(|id| members.contains(id)))
        .map(|package| {
            let imports = list(&package["dependencies"])
                .iter()
                .filter(|dependency| dependency["kind"].is_null())
                .filter_map(|dependency| dependency["name"].as_str())
                .map(|name| name.strip_prefix("rattlewatch-").unwrap_or(name).to_owned())
                .collect();
            (room(package["name"].as_str().unwrap_or_default()), imports)
        })
        .collect()
}

fn room(package: &str) -> String {
    package.strip_prefix("rattlewatch-").unwrap_or(package).to_owned()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map(Vec::as_slice).unwrap_or_default()
}

fn arrows(metadata: &Value, faults: &mut Vec<String>) {
    let rooms = rooms(metadata);
    for (room, imports) in &rooms {
        let ours = imports.iter().filter(|name| rooms.contains_key(*name));
        if DEVELOPMENT.contains(&room.as_str()) {
            let measured = |import: &str| (room.as_str(), import) == MEASURED;
            let web = |import: &str| WEB.contains(&import) && !measured(import);
            for import in ours.filter(|name| web(name)) {
                faults.push(format!("{room} imports {import}: web rooms are imported by nobody"));
            }
            continue;
        }
        let Some((_, allowed)) = ARROWS.iter().find(|(name, _)| name == room) else {
            faults.push(format!(
                "{room} has no arrows: add it to xtask/src/tidy.rs and ARCHITECTURE.md"
            ));
            continue;
        };
        for import in ours.filter(|name| !allowed.contains(&name.as_str())) {
            faults.push(format!("{room} imports {import}, which the map does not allow"));
        }
    }
}

fn phone_stays_light(metadata: &Value, faults: &mut Vec<String>) {
    let nodes = list(&metadata["resolve"]["nodes"]);
    let names: BTreeMap<&str, &str> = list(&metadata["packages"])
        .iter()
        .filter_map(|package| Some((package["id"].as_str()?, package["name"].as_str()?)))
        .collect();
    let imports: BTreeMap<&str, Vec<&str>> = nodes
        .iter()
        .filter_map(|node| {
            let normal = list(&node["deps"])
                .iter()
                .filter(|dep| list(&dep["dep_kinds"]).iter().any(|kind| kind["kind"].is_null()))
                .filter_map(|dep| dep["pkg"].as_str())
                .collect();
            Some((node["id"].as_str()?, normal))
        })
        .collect();
    let mut reached = BTreeSet::new();
    let mut waiting: Vec<&str> = names
        .iter()
        .filter(|(_, name)| **name == "rattlewatch-phone-web")
        .map(|(id, _)| *id)
        .collect();
    while let Some(id) = waiting.pop() {
        if reached.insert(id) {
            waiting.extend(imports.get(id).into_iter().flatten());
        }
    }
    let carried: BTreeSet<&str> = reached.iter().filter_map(|id| names.get(id).copied()).collect();
    for heavy in NOT_ON_A_PHONE.iter().filter(|name| carried.contains(**name)) {
        faults.push(format!("phone-web reaches {heavy}, which no phone should carry"));
    }
}

fn map_names_exist(metadata: &Value, faults: &mut Vec<String>) -> Result<()> {
    let map = fs::read_to_string("ARCHITECTURE.md").context("ARCHITECTURE.md")?;
    for room in rooms(metadata).keys() {
        if !map.contains(&format!("`{room}`")) {
            faults.push(format!("ARCHITECTURE.md does not name the room `{room}`"));
        }
    }
    for word in map.split('`').skip(1).step_by(2).filter(|word| word.contains('/')) {
        let path = word.trim_end_matches('/');
        if !path.contains([' ', '*', ':', '{', '<']) && !Path::new(path).exists() {
            faults.push(format!("ARCHITECTURE.md names `{word}`, which does not exist"));
        }
    }
    Ok(())
}

fn links_lead_somewhere(faults: &mut Vec<String>) -> Result<()> {
    for file in tracked("*.md")? {
        let text = fs::read_to_string(&file).with_context(|| file.clone())?;
        let folder = Path::new(&file).parent().unwrap_or(Path::new(""));
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let target = link.split('#').next().unwrap_or_default();
            if target.is_empty() || target.contains("://") || target.starts_with("mailto:") {
                continue;
            }
            if !folder.join(target).exists() {
                faults.push(format!("{file}: the link {link:?} leads nowhere"));
            }
        }
    }
    Ok(())
}

fn rooms_keep_their_subject(faults: &mut Vec<String>) -> Result<()> {
    for file in tracked("*.rs")? {
        let name = Path::new(&file).file_stem().and_then(|s| s.to_str()).unwrap_or_default();
        if ["util", "utils", "helper", "helpers", "common", "misc"].contains(&name) {
            faults.push(format!("{file}: a room without a subject; give it its noun"));
        }
        let lines = fs::read_to_string(&file).with_context(|| file.clone())?.lines().count();
        if lines > LINES_MAX {
            faults
                .push(format!("{file}: {lines} lines; split it by subject ({LINES_MAX} at most)"));
        }
    }
    for manifest in files_under(Path::new("crates"))?.iter().filter(|f| f.ends_with("Cargo.toml")) {
        if !fs::read_to_string(manifest)?.contains("[lints]\nworkspace = true") {
            faults.push(format!("{}: lacks `[lints] workspace = true`", manifest.display()));
        }
    }
    Ok(())
}

/// Files under version control that are there.
pub(crate) fn tracked(pattern: &str) -> Result<Vec<String>> {
    let output = Command::new("git").args(["ls-files", pattern]).output()?;
    let names = String::from_utf8(output.stdout)?;
    Ok(names.lines().filter(|name| Path::new(name).exists()).map(str::to_owned).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_arrow_points_to_a_room_of_the_map() {
        let known: BTreeSet<&str> = ARROWS.iter().map(|(name, _)| *name).collect();
        for (name, imports) in ARROWS {
            for import in *imports {
                assert!(known.contains(import), "{name} may import {import}, which is no room");
            }
        }
        assert!(crate::launch::root().join("ARCHITECTURE.md").exists());
    }
}
