//! The data folder: made for its owner alone, and never one that somebody else keeps things in.

use crate::options::StartError;
use std::ffi::OsStr;
use std::path::Path;
use std::{fs, io};

/// What lies in a folder that a server has begun to use: the record, or the keys that were copied from
/// another server on the same database.
const OURS: [&str; 2] = ["record.db", "keys/device.key"];
/// What may lie in a folder before the first start: marks that a restoration left, blobs that several
/// servers share, and what a file system puts at its own root.
const BEFORE: [&str; 5] = ["high-water", "blobs", "acme", "keys", "lost+found"];

/// Whether a server may keep its record there: nothing is there yet, or one has before. Else its first start
/// would shut everybody else out of the folder of another program.
pub fn check(folder: &Path) -> Result<(), StartError> {
    let files = match fs::read_dir(folder) {
        Ok(files) => files,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(with_path(folder, &error)),
    };
    if OURS.iter().any(|name| folder.join(name).exists()) {
        return Ok(());
    }
    let mut names: Vec<String> = Vec::new();
    for file in files {
        let name = file.map_err(|error| with_path(folder, &error))?.file_name();
        if !BEFORE.iter().any(|known| name == OsStr::new(known)) {
            names.push(name.to_string_lossy().into_owned());
        }
    }
    match names.into_iter().min() {
        None => Ok(()),
        Some(found) => Err(StartError::NotOurs { folder: folder.to_owned(), found }),
    }
}

fn with_path(folder: &Path, error: &io::Error) -> StartError {
    StartError::File(io::Error::new(error.kind(), format!("{}: {error}", folder.display())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_of_another_program_is_refused_and_left_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("etc");
        assert!(check(&path).is_ok(), "it is made by the first start");
        fs::create_dir(&path).unwrap();
        fs::create_dir(path.join("lost+found")).unwrap();
        fs::create_dir(path.join("high-water")).unwrap();
        assert!(check(&path).is_ok(), "nothing of anybody's lies there");
        fs::write(path.join("passwd"), "").unwrap();
        let refused = check(&path).unwrap_err().to_string();
        assert!(refused.contains("passwd") && refused.contains("--data"), "{refused}");
        fs::write(path.join("record.db"), "").unwrap();
        assert!(check(&path).is_ok(), "a server has used it before");
    }
}
