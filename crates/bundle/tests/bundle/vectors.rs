//! `docs/spec/vectors/`: written from fixed keys, then judged from the files alone, by this program
//! and by verify.py. `UPDATE_EXPECT=1` writes them again.

mod bytes;
mod judged;

use serde_json::Value;
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/spec/vectors"))
}

/// A case as a line of a file, whose bytes do not depend on how the JSON library keeps its maps.
fn one_line(case: &Value) -> String {
    let mut case = case.clone();
    case.sort_all_objects();
    format!("{case}\n")
}

/// The file as it stands must be what the code makes.
fn check_file(name: &str, made: &[u8]) {
    let path = folder().join(name);
    if std::env::var_os("UPDATE_EXPECT").is_some() {
        std::fs::create_dir_all(folder()).unwrap();
        std::fs::write(&path, made).unwrap();
    }
    let stands = std::fs::read(&path).unwrap_or_default();
    assert!(stands == made, "{name} is not what the code makes: run with UPDATE_EXPECT=1");
}
