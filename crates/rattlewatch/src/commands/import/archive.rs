//! The files a drawing consists of: itself, those of a folder, or those of a zip.

use anyhow::{Context, Result, bail, ensure};
use std::io::Read;
use std::path::{Path, PathBuf};

/// More than any plan, in bytes: what unpacks to more is refused.
const BYTES_MAX: u64 = 512 * 1024 * 1024;

/// Name and bytes of each file of a drawing, by name; a single file goes by its name without the ending.
pub(super) fn files(path: &Path) -> Result<Vec<(String, Vec<u8>)>> {
    let context = || format!("reading {}", path.display());
    if path.is_dir() {
        let mut paths: Vec<PathBuf> = Vec::new();
        for entry in std::fs::read_dir(path).with_context(context)? {
            paths.push(entry.with_context(context)?.path());
        }
        paths.sort();
        let mut out = Vec::new();
        for path in paths.iter().filter(|path| path.is_file() && is_json(path)) {
            let bytes =
                std::fs::read(path).with_context(|| format!("reading {}", path.display()))?;
            out.push((name(path), bytes));
        }
        ensure!(!out.is_empty(), "{} holds no .geojson or .json file", path.display());
        return Ok(out);
    }
    let bytes = std::fs::read(path).with_context(context)?;
    if bytes.starts_with(b"PK\x03\x04") {
        return unzipped(bytes).with_context(context);
    }
    let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
    Ok(vec![(stem.unwrap_or_default(), bytes)])
}

fn unzipped(bytes: Vec<u8>) -> Result<Vec<(String, Vec<u8>)>> {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes))?;
    let (mut out, mut left) = (Vec::new(), BYTES_MAX);
    for i in 0..archive.len() {
        let file = archive.by_index(i)?;
        let path = PathBuf::from(file.name());
        // Some systems add files of their own, whose names begin with a dot.
        if !file.is_file() || !is_json(&path) || name(&path).starts_with('.') {
            continue;
        }
        let mut bytes = Vec::new();
        file.take(left + 1).read_to_end(&mut bytes)?;
        let Some(rest) = left.checked_sub(bytes.len() as u64) else {
            bail!("it unpacks to more than {BYTES_MAX} bytes: take only the files of the plan");
        };
        left = rest;
        out.push((name(&path), bytes));
    }
    ensure!(!out.is_empty(), "the zip holds no .geojson or .json file");
    out.sort();
    Ok(out)
}

fn is_json(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("geojson") || e.eq_ignore_ascii_case("json"))
}

fn name(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    #[test]
    fn a_folder_and_its_zip_are_the_same() {
        let folder = tempfile::tempdir().expect("a folder");
        let inner = folder.path().join("venue");
        std::fs::create_dir(&inner).expect("writable");
        let zipped = folder.path().join("venue.zip");
        let mut zip = zip::ZipWriter::new(std::fs::File::create(&zipped).expect("writable"));
        for (name, text) in [("unit.geojson", "{}"), ("level.geojson", "{ }"), ("note.txt", "x")] {
            std::fs::write(inner.join(name), text).expect("writable");
            let options = zip::write::SimpleFileOptions::default();
            zip.start_file(name, options).expect("writable");
            zip.write_all(text.as_bytes()).expect("writable");
        }
        zip.finish().expect("writable");
        let names = |files: &[(String, Vec<u8>)]| -> Vec<String> {
            files.iter().map(|(name, _)| name.clone()).collect()
        };
        let (one, other) = (files(&inner).expect("a folder"), files(&zipped).expect("a zip"));
        assert_eq!(one, other);
        assert_eq!(names(&one), ["level.geojson", "unit.geojson"]);
        assert!(files(folder.path()).is_err(), "no file of a plan lies in the folder itself");
    }
}
