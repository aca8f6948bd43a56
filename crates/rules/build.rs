//! Lists the files of `standards/` so that the crate carries them inside.
//!
//! The folder stands beside `crates/`; `crates/rules/standards` is a link to it, so that a packaged crate carries it too.

use std::path::{Path, PathBuf};
use std::{env, fmt::Write as _, fs};

fn main() {
    let here = PathBuf::from(env::var("CARGO_MANIFEST_DIR").expect("cargo sets it"));
    let root = [here.join("../../standards"), here.join("standards")]
        .into_iter()
        .find(|folder| folder.is_dir())
        .expect("standards/ stands beside crates/, or inside a packaged crate");
    println!("cargo::rerun-if-changed={}", root.display());
    println!("cargo::rerun-if-changed=build.rs");

    embed("embedded.rs", &root);
    // What is measured at a site, and usual values: of another form than demands.
    embed("site.rs", &root.join("site"));
}

/// Writes a list of folder, file stem and text of every TOML file one folder down.
fn embed(list_name: &str, root: &Path) {
    let mut list = String::from("[\n");
    for folder in entries(root) {
        if !folder.is_dir() {
            continue;
        }
        println!("cargo::rerun-if-changed={}", folder.display());
        for file in entries(&folder) {
            if file.extension().is_some_and(|extension| extension == "toml") {
                println!("cargo::rerun-if-changed={}", file.display());
                writeln!(
                    list,
                    "    ({:?}, {:?}, include_str!({:?})),",
                    name(&folder),
                    name(&file),
                    file
                )
                .expect("writing to a string");
            }
        }
    }
    list.push_str("]\n");
    let out = PathBuf::from(env::var("OUT_DIR").expect("cargo sets it")).join(list_name);
    fs::write(out, list).expect("the build folder can be written");
}

/// In one fixed order, so that the same tree gives the same program.
fn entries(folder: &Path) -> Vec<PathBuf> {
    let read = fs::read_dir(folder)
        .unwrap_or_else(|fault| panic!("reading {}: {fault}", folder.display()));
    let mut paths: Vec<PathBuf> =
        read.map(|entry| entry.expect("a readable folder").path()).collect();
    paths.sort();
    paths.iter().map(|path| fs::canonicalize(path).expect("it was just listed")).collect()
}

fn name(path: &Path) -> String {
    path.file_stem().expect("listed entries have names").to_string_lossy().into_owned()
}
