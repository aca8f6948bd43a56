//! The list of what is built in, in the form of CycloneDX 1.5 (<https://cyclonedx.org/docs/1.5/json/>).

use super::Committed;
use anyhow::{Context, Result};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// Rooms of ours and what cargo knows of them on the platform for which they are built.
type Part<'a> = (&'a Value, &'a [&'a str]);

/// Everything that the program and the phone inside it need to run, with licences and with what needs
/// what. The first room is the program. Features that another room asks for are on here too, so the list
/// may name a library too many, never one too few.
pub(super) fn list(parts: &[Part<'_>], committed: Option<&Committed>) -> Result<Value> {
    let mut components = BTreeMap::new();
    let mut needs: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut program = None;
    for (metadata, rooms) in parts {
        let packages = by_id(&metadata["packages"], "packages")?;
        let nodes = by_id(&metadata["resolve"]["nodes"], "resolve")?;
        for room in *rooms {
            let root = nodes.keys().find(|id| id.contains(&format!("/crates/{room}#")));
            let root = *root.with_context(|| format!("{room} is in the workspace"))?;
            let main = program.get_or_insert_with(|| name_of(packages[root])).clone();
            let mut open = vec![root];
            let mut seen = BTreeSet::from([root]);
            while let Some(id) = open.pop() {
                let name = name_of(packages[id]);
                components.insert(name.clone(), component(packages[id]));
                for below in needed(nodes[id]) {
                    needs.entry(name.clone()).or_default().insert(name_of(packages[below]));
                    if seen.insert(below) {
                        open.push(below);
                    }
                }
            }
            // The phone and the drawing tool lie inside the program.
            if name_of(packages[root]) != main {
                needs.entry(main).or_default().insert(name_of(packages[root]));
            }
        }
        if let Some(sqlite) = packages.values().find(|package| package["name"] == "libsqlite3-sys")
        {
            let (name, bundled) = bundled_sqlite(sqlite)?;
            needs.entry(name_of(sqlite)).or_default().insert(name.clone());
            components.insert(name, bundled);
        }
    }
    let program = program.context("a program")?;
    let mut about = components.remove(&program).context("the program itself")?;
    about["type"] = "application".into();
    for (name, font) in fonts() {
        needs.entry(program.clone()).or_default().insert(name.clone());
        components.insert(name, font);
    }
    let mut metadata = json!({ "component": about });
    if let Some(committed) = committed {
        metadata["timestamp"] = committed.date.clone().into();
    }
    let needs = needs.iter().map(|(name, below)| json!({ "ref": name, "dependsOn": below }));
    Ok(json!({
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": metadata,
        "components": components.into_values().collect::<Vec<_>>(),
        "dependencies": needs.collect::<Vec<_>>(),
    }))
}

fn by_id<'a>(list: &'a Value, what: &'static str) -> Result<BTreeMap<&'a str, &'a Value>> {
    let list = list.as_array().context(what)?.iter();
    list.map(|one| Ok((one["id"].as_str().context("an id")?, one))).collect()
}

/// What a package needs when it runs; what only builds or tests it stays out.
fn needed(node: &Value) -> impl Iterator<Item = &str> {
    let runs = |dependency: &&Value| {
        let kinds = dependency["dep_kinds"].as_array();
        kinds.is_some_and(|kinds| kinds.iter().any(|kind| kind["kind"].is_null()))
    };
    let all = node["deps"].as_array().into_iter().flatten();
    all.filter(runs).filter_map(|dependency| dependency["pkg"].as_str())
}

/// A package URL (<https://github.com/package-url/purl-spec>); rooms of ours are in no registry.
fn name_of(package: &Value) -> String {
    let text = |name: &str| package[name].as_str().unwrap_or_default().to_owned();
    let registry = if package["source"].is_string() { "pkg:cargo/" } else { "" };
    format!("{registry}{}@{}", text("name"), text("version"))
}

fn component(package: &Value) -> Value {
    let name = name_of(package);
    let mut component = json!({
        "type": "library",
        "bom-ref": name,
        "name": package["name"],
        "version": package["version"],
    });
    if name.starts_with("pkg:") {
        component["purl"] = name.into();
    }
    if let Some(licence) = package["license"].as_str() {
        // Cargo once wrote "MIT/Apache-2.0" where SPDX says OR.
        let expression = licence.replace(" / ", "/").replace('/', " OR ");
        component["licenses"] = json!([{ "expression": expression }]);
    }
    component
}

/// SQLite's own source lies inside a crate that has another version.
fn bundled_sqlite(package: &Value) -> Result<(String, Value)> {
    let manifest = package["manifest_path"].as_str().context("a path")?;
    let header = Path::new(manifest).with_file_name("sqlite3").join("sqlite3.h");
    let text = fs::read_to_string(&header).with_context(|| header.display().to_string())?;
    let version = text
        .lines()
        .find_map(|line| line.strip_prefix("#define SQLITE_VERSION")?.split('"').nth(1))
        .context("SQLite says its version")?;
    let name = format!("pkg:generic/sqlite@{version}");
    let component = json!({
        "type": "library",
        "bom-ref": name,
        "name": "sqlite",
        "version": version,
        "purl": name,
        "cpe": format!("cpe:2.3:a:sqlite:sqlite:{version}:*:*:*:*:*:*:*"),
        "licenses": [{ "license": { "id": "blessing" } }],
    });
    Ok((name, component))
}

/// The fonts of screens and paper.
fn fonts() -> impl Iterator<Item = (String, Value)> {
    ["Atkinson Hyperlegible Next", "Atkinson Hyperlegible Mono"].into_iter().map(|name| {
        let font = json!({
            "type": "data",
            "bom-ref": name,
            "name": name,
            "licenses": [{ "license": { "id": "OFL-1.1" } }],
        });
        (name.to_owned(), font)
    })
}
