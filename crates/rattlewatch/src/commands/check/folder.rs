//! What the machine that the server runs on owes the record: folders for their owner only, room, marks on another disk.

use super::Found;
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;

pub(crate) fn look(data: &Path, marks: &Path) -> Vec<Found> {
    let keys = closed("keys", &data.join("keys"));
    vec![closed("folder", data), keys, apart(data, marks), roomy(data)]
}

/// A disk that fills up during a night first keeps photos out of the record, then lines.
fn roomy(data: &Path) -> Found {
    let what = "room";
    match store::Room::of(data) {
        Err(error) => Found::fails(what, error.to_string()),
        Ok(room) => judged(what, room),
    }
}

fn judged(what: &'static str, room: store::Room) -> Found {
    let (free, least) = (room.free_bytes >> 20, room.alarm_bytes() >> 20);
    match room.is_low() {
        false => Found::holds(what, format!("{free} MiB are free on the disk of the record")),
        true => Found::fails(
            what,
            format!(
                "{free} MiB are free on the disk of the record, less than {least}: make room before the night; photos \
                 and then lines stay on the phones when it is full"
            ),
        ),
    }
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
        // Whether the disk of whoever runs the tests has room is not asked here.
        assert_eq!(held[..3], [false, true, false]);
        assert!(found[0].says.contains("chmod 700"), "{}", found[0].says);
        assert!(found[2].says.contains("cannot be looked at"), "{}", found[2].says);
        std::fs::create_dir(folder.path().join("high-water")).unwrap();
        let beside = apart(folder.path(), &folder.path().join("high-water"));
        assert!(!beside.ok && beside.says.contains("--high-water"), "{}", beside.says);
    }

    #[test]
    fn a_disk_that_fills_up_is_named_before_the_night() {
        let of = |free_mib: u64| {
            judged("room", store::Room { free_bytes: free_mib << 20, reserve_bytes: 1 << 30 })
        };
        assert!(of(6_000).ok);
        let full = of(4_000);
        assert!(!full.ok && full.says.contains("4000 MiB") && full.says.contains("make room"));
        assert!(!roomy(Path::new("/nowhere/at/all")).ok);
    }
}
