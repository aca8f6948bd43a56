//! Lays the phone's files into the program when `RATTLEWATCH_WEB` names their folder (`cargo x package`
//! does); otherwise the program reads them from a folder when it runs.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() {
    println!("cargo::rerun-if-env-changed=RATTLEWATCH_WEB");
    let mut files = Vec::new();
    if let Some(folder) = env::var_os("RATTLEWATCH_WEB").map(PathBuf::from) {
        println!("cargo::rerun-if-changed={}", folder.display());
        collect(&folder, &mut files);
        for file in &mut files {
            let name = file.strip_prefix(&folder).expect("it was found below the folder");
            *file = PathBuf::from(name);
        }
        write(&folder, &files);
    } else {
        write(Path::new(""), &files);
    }
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut paths: Vec<PathBuf> =
        entries.map(|entry| entry.expect("an entry of a folder").path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() { collect(&path, files) } else { files.push(path) }
    }
}

fn write(folder: &Path, files: &[PathBuf]) {
    let mut text = String::from("pub(crate) static FILES: &[(&str, &[u8])] = &[\n");
    for name in files {
        let path = folder.join(name);
        writeln!(text, "    ({:?}, include_bytes!({:?})),", name.display().to_string(), path)
            .expect("a string takes all");
    }
    text.push_str("];\n");
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets it"));
    fs::write(out.join("web.rs"), text).expect("cargo's folder can be written");
}
