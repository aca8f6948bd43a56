//! Good inputs, read where they lie: the vectors of `docs/spec`, the fixtures, the files of the standards. None is
//! copied.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

/// One member of each line of a file of vectors, where it is text.
pub fn vectors(file: &str, member: &str) -> Vec<Vec<u8>> {
    let path = root().join("docs/spec/vectors").join(file);
    let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text.lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter_map(|json| json[member].as_str().map(|text| text.as_bytes().to_vec()))
        .collect()
}

/// A file of the project.
pub fn file(path: &str) -> Vec<u8> {
    fs::read(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Every file of a folder of the project, by name.
pub fn folder(path: &str) -> Vec<Vec<u8>> {
    let entries = fs::read_dir(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"));
    let mut paths: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.is_file())
        .collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).expect("a file that is there")).collect()
}

/// The phone of the first version as its browser kept it: key, notes, lines, documents.
pub fn kept_phone() -> Value {
    serde_json::from_slice(&file("crates/phone/tests/kept/1.json")).expect("it is JSON")
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}
