//! What is handed out: the program with everything inside, a Debian package, a list of what is built in.

use crate::{launch, web};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

const OUT: &str = "target/package";

/// Builds the phone into the program; then, unless only that was asked, the list and the package.
pub(crate) fn run(arguments: &[String]) -> Result<()> {
    web::build()?;
    let mut cargo = Command::new(env!("CARGO"));
    cargo
        .args(["build", "--release", "--package", "rattlewatch"])
        .env("RATTLEWATCH_WEB", launch::root().join("target/web"));
    launch::program(&mut cargo)?;
    fs::create_dir_all(OUT)?;
    let program = Path::new(OUT).join("rattlewatch");
    fs::copy(launch::built()?.join("release/rattlewatch"), &program)?;
    println!("{}", program.display());
    if arguments.iter().any(|argument| argument == "--binary-only") {
        return Ok(());
    }
    let metadata = metadata()?;
    let list = Path::new(OUT).join("rattlewatch.cdx.json");
    fs::write(&list, serde_json::to_vec_pretty(&built_in(&metadata)?)?)?;
    println!("{}", list.display());
    println!("{}", debian(&program, &list, version(&metadata)?)?.display());
    Ok(())
}

/// What cargo knows of the program and all that is linked into it on this platform.
fn metadata() -> Result<Value> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--filter-platform"])
        .arg(target()?)
        .output()?;
    ensure!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn target() -> Result<String> {
    let output = Command::new("rustc").args(["--version", "--verbose"]).output()?;
    let text = String::from_utf8(output.stdout)?;
    let host = text.lines().find_map(|line| line.strip_prefix("host: "));
    Ok(host.context("rustc names its host")?.to_owned())
}

fn version(metadata: &Value) -> Result<&str> {
    let packages = metadata["packages"].as_array().context("packages")?;
    let ours = packages.iter().find(|package| package["name"] == "rattlewatch");
    ours.and_then(|package| package["version"].as_str()).context("the program has a version")
}

/// The list in the form of CycloneDX 1.5 (<https://cyclonedx.org/docs/1.5/json/>): everything that the
/// program needs to run, with its licence.
fn built_in(metadata: &Value) -> Result<Value> {
    let nodes = metadata["resolve"]["nodes"].as_array().context("resolve")?;
    let root = nodes
        .iter()
        .find_map(|node| node["id"].as_str().filter(|id| id.contains("/crates/rattlewatch#")))
        .context("the program is in the workspace")?;
    let mut reached = vec![root];
    let mut next = 0;
    while let Some(id) = reached.get(next).copied() {
        next += 1;
        let node = nodes.iter().find(|node| node["id"] == id).context("a resolved package")?;
        for dependency in node["deps"].as_array().into_iter().flatten() {
            let kinds = dependency["dep_kinds"].as_array();
            let runs = kinds.is_some_and(|kinds| kinds.iter().any(|kind| kind["kind"].is_null()));
            let id = dependency["pkg"].as_str().unwrap_or_default();
            if runs && !reached.contains(&id) {
                reached.push(id);
            }
        }
    }
    let packages = metadata["packages"].as_array().context("packages")?;
    let mut components: Vec<Value> = packages
        .iter()
        .filter(|package| {
            package["id"].as_str().is_some_and(|id| id != root && reached.contains(&id))
        })
        .map(component)
        .collect();
    components.sort_by_key(|component| component["purl"].to_string());
    Ok(json!({
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": { "component": { "type": "application", "name": "rattlewatch", "version": version(metadata)? } },
        "components": components,
    }))
}

fn component(package: &Value) -> Value {
    let (name, version) = (&package["name"], &package["version"]);
    json!({
        "type": "library",
        "name": name,
        "version": version,
        "purl": format!("pkg:cargo/{}@{}", name.as_str().unwrap_or_default(), version.as_str().unwrap_or_default()),
        "licenses": [{ "expression": package["license"] }],
    })
}

/// Lays the files out as they will lie on the machine and lets `dpkg-deb` pack them.
fn debian(program: &Path, list: &Path, version: &str) -> Result<PathBuf> {
    let folder = Path::new(OUT).join("debian");
    if folder.exists() {
        fs::remove_dir_all(&folder)?;
    }
    let architecture = Command::new("dpkg").arg("--print-architecture").output();
    let architecture = architecture.context("dpkg is missing: only Debian packs for Debian")?;
    let architecture = String::from_utf8(architecture.stdout)?.trim().to_owned();
    place(program, &folder.join("usr/bin/rattlewatch"), 0o755)?;
    let unit = "usr/lib/systemd/system/rattlewatch.service";
    place(Path::new("packaging/rattlewatch.service"), &folder.join(unit), 0o644)?;
    let docs = folder.join("usr/share/doc/rattlewatch");
    place(list, &docs.join("rattlewatch.cdx.json"), 0o644)?;
    for name in ["README.md", "LICENSE-MIT", "LICENSE-APACHE"] {
        place(Path::new(name), &docs.join(name), 0o644)?;
    }
    for guide in web::files_under(Path::new("docs/guides"))? {
        let name = guide.file_name().context("a file")?;
        place(&guide, &docs.join("guides").join(name), 0o644)?;
    }
    for script in ["postinst", "prerm"] {
        let from = Path::new("packaging/debian").join(script);
        place(&from, &folder.join("DEBIAN").join(script), 0o755)?;
    }
    let control = fs::read_to_string("packaging/debian/control")?
        .replace("@VERSION@", version)
        .replace("@ARCHITECTURE@", &architecture);
    fs::write(folder.join("DEBIAN/control"), control)?;
    let package = Path::new(OUT).join(format!("rattlewatch_{version}_{architecture}.deb"));
    let mut pack = Command::new("dpkg-deb");
    pack.args(["--build", "--root-owner-group"]).arg(&folder).arg(&package);
    launch::program(&mut pack)?;
    Ok(package)
}

fn place(from: &Path, to: &Path, mode: u32) -> Result<()> {
    fs::create_dir_all(to.parent().context("a folder")?)?;
    fs::copy(from, to).with_context(|| format!("copying {}", from.display()))?;
    fs::set_permissions(to, fs::Permissions::from_mode(mode))?;
    Ok(())
}
