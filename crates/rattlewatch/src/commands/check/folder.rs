//! What the machine that the server runs on owes the record: folders for their owner only, marks on another disk.

use super::Found;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;

pub(crate) fn look(data: &Path, marks: &Path) -> Vec<Found> {
    vec![closed("folder", data), closed("keys", &data.join("keys")), apart(data, marks)]
}

/// Nobody but the owner may read the folder.
fn closed(what: &'static str, folder: &Path) -> Found {
    let shown = folder.display();
    match std::fs::metadata(folder) {
        Err(error) => Found::fails(what, format!("{shown} cannot be looked at: {error}")),
        Ok(found) if !found.is_dir() => {
            Found::fails(what, format!("{shown} is no folder: name the server's own"))
        }
        Ok(found) if found.permissions().mode() & 0o077 != 0 => Found::fails(
            what,
            format!("{shown} is open to others on this machine: chmod 700 {shown}"),
        ),
        Ok(_) => Found::holds(what, format!("{shown} is its owner's alone")),
    }
}

/// A copy of the record that is put back must not bring old marks with it.
fn apart(data: &Path, marks: &Path) -> Found {
    let what = "marks";
    let disk = |path: &Path| std::fs::metadata(path).map(|found| found.dev());
    match (disk(data), disk(marks)) {
        (Ok(data), Ok(marks)) if data != marks => {
            Found::holds(what, "the high-water marks lie on another disk")
        }
        (Ok(_), Ok(_)) => Found::fails(
            what,
            "the high-water marks lie on the record's own disk: a snapshot of it that is put back would bring them \
             back too, and nobody would notice. Name another disk with --high-water",
        ),
        (_, Err(error)) | (Err(error), _) => {
            Found::fails(what, format!("{} cannot be looked at: {error}", marks.display()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_open_folder_and_marks_beside_the_record_are_named() {
        let folder = tempfile::tempdir().unwrap();
        let keys = folder.path().join("keys");
        std::fs::create_dir(&keys).unwrap();
        std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
        std::fs::set_permissions(&keys, std::fs::Permissions::from_mode(0o700)).unwrap();
        let found = look(folder.path(), &folder.path().join("high-water"));
        let held: Vec<bool> = found.iter().map(|found| found.ok).collect();
        assert_eq!(held, [false, true, false]);
        assert!(found[0].says.contains("chmod 700"), "{}", found[0].says);
        assert!(found[2].says.contains("cannot be looked at"), "{}", found[2].says);
        std::fs::create_dir(folder.path().join("high-water")).unwrap();
        let beside = apart(folder.path(), &folder.path().join("high-water"));
        assert!(!beside.ok && beside.says.contains("--high-water"), "{}", beside.says);
    }
}
