//! The high-water mark: the largest head that may have been signed, kept where a restored backup of
//! the database cannot reach it. It is written and durable *before* a head is signed.
//!
//! One file a log, two slots of 512 bytes written in turn, so that a torn write leaves the older slot
//! whole and one `fdatasync` is enough. A slot is one line of text: count, size, root and the SHA-256
//! of those, so that a person can read it.

use crate::error::StoreError;
use ledger::Digest;
use std::collections::BTreeMap;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

const SLOT: usize = 512;

/// A head that may be in other hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// Number of leaves.
    pub size: u64,
    /// Root over them.
    pub root: Digest,
}

/// The marks of all logs of a store, one file each in one folder.
#[derive(Debug)]
pub(crate) struct HighWater {
    folder: PathBuf,
    open: BTreeMap<Arc<str>, MarkFile>,
    /// Locked while this process lives, so that no two write marks over each other.
    _seat: File,
}

#[derive(Debug)]
struct MarkFile {
    file: File,
    path: PathBuf,
    count: u64,
    mark: Option<Mark>,
}

impl HighWater {
    pub(crate) fn new(folder: &Path) -> Result<HighWater, StoreError> {
        std::fs::create_dir_all(folder).map_err(|error| StoreError::file(folder, &error))?;
        sync_folder(folder)?;
        if let Some(parent) = folder.parent().filter(|parent| !parent.as_os_str().is_empty()) {
            sync_folder(parent)?;
        }
        let _seat = take_seat(&folder.join("seat"))?;
        Ok(HighWater { folder: folder.to_owned(), open: BTreeMap::new(), _seat })
    }

    /// The mark of a log; none if nothing of it was ever signed.
    pub(crate) fn read(&mut self, origin: &Arc<str>) -> Result<Option<Mark>, StoreError> {
        Ok(self.mark_file(origin)?.mark)
    }

    /// Names of all logs that have a mark here, whether or not the database still knows them.
    pub(crate) fn origins(&self) -> Result<Vec<Arc<str>>, StoreError> {
        let entries = std::fs::read_dir(&self.folder);
        let mut origins = Vec::new();
        for entry in entries.map_err(|error| StoreError::file(&self.folder, &error))? {
            let path = entry.map_err(|error| StoreError::file(&self.folder, &error))?.path();
            if path.extension().is_some_and(|ending| ending == "mark") {
                let text = std::fs::read(&path).map_err(|error| StoreError::file(&path, &error))?;
                let origin = text.split(|byte| *byte == b'\n').next().unwrap_or_default();
                origins.push(Arc::from(String::from_utf8_lossy(origin).as_ref()));
            }
        }
        origins.sort();
        Ok(origins)
    }

    /// Raises the mark and returns when that is durable. A mark is never lowered.
    pub(crate) fn raise(&mut self, origin: &Arc<str>, mark: Mark) -> Result<(), StoreError> {
        let file = self.mark_file(origin)?;
        if let Some(old) = file.mark {
            assert!(mark.size >= old.size, "the writer never publishes a smaller head");
            if mark == old {
                return Ok(());
            }
        }
        file.write(mark)
    }

    fn mark_file(&mut self, origin: &Arc<str>) -> Result<&mut MarkFile, StoreError> {
        if !self.open.contains_key(origin) {
            let file = MarkFile::open(&self.folder, origin)?;
            self.open.insert(origin.clone(), file);
        }
        Ok(self.open.get_mut(origin).expect("it was just inserted"))
    }
}

impl MarkFile {
    fn open(folder: &Path, origin: &str) -> Result<MarkFile, StoreError> {
        let path = folder.join(format!("{}.mark", Digest::of(origin.as_bytes())));
        let fault = |error: std::io::Error| StoreError::file(&path, &error);
        if !path.exists() {
            create(folder, &path, origin)?;
        }
        let mut file = OpenOptions::new().read(true).write(true).open(&path).map_err(fault)?;
        let mut text = Vec::new();
        file.read_to_end(&mut text).map_err(fault)?;
        let slots = text.get(SLOT..).unwrap_or_default().chunks(SLOT);
        let newest = slots.filter_map(read_slot).max_by_key(|(count, _)| *count);
        let (count, mark) = newest.ok_or_else(|| {
            StoreError::damaged(format!(
                "the high-water file {} cannot be read, so nothing tells what was signed",
                path.display()
            ))
        })?;
        Ok(MarkFile { file, path, count, mark: Some(mark).filter(|mark| mark.size > 0) })
    }

    fn write(&mut self, mark: Mark) -> Result<(), StoreError> {
        let count = self.count + 1;
        let slot = SeekFrom::Start((SLOT + (count % 2) as usize * SLOT) as u64);
        let fault = |error: std::io::Error| StoreError::file(&self.path, &error);
        self.file.seek(slot).map_err(fault)?;
        self.file.write_all(&slot_bytes(count, mark)).map_err(fault)?;
        self.file.sync_data().map_err(|error| fatal(&self.path, &error))?;
        (self.count, self.mark) = (count, Some(mark));
        Ok(())
    }
}

/// The lock goes with the process that holds it, however that ends.
fn take_seat(path: &Path) -> Result<File, StoreError> {
    let seat = OpenOptions::new().write(true).create(true).truncate(false).open(path);
    let seat = seat.map_err(|error| StoreError::file(path, &error))?;
    match seat.try_lock() {
        Ok(()) => Ok(seat),
        Err(TryLockError::WouldBlock) => Err(StoreError::InUse),
        Err(TryLockError::Error(error)) => Err(StoreError::file(path, &error)),
    }
}

/// Makes a file that says "nothing signed". It appears whole or not at all, so that a file without a
/// readable slot is always damage.
fn create(folder: &Path, path: &Path, origin: &str) -> Result<(), StoreError> {
    let draft = path.with_extension("new");
    let fault = |error: std::io::Error| StoreError::file(&draft, &error);
    let mut bytes = format!("{origin}\n").into_bytes();
    bytes.resize(SLOT, b'\n');
    bytes.extend(slot_bytes(0, Mark { size: 0, root: ledger::merkle::empty_root() }));
    bytes.resize(3 * SLOT, b'\n');
    let mut file = File::create(&draft).map_err(fault)?;
    file.write_all(&bytes).map_err(fault)?;
    file.sync_all().map_err(|error| fatal(&draft, &error))?;
    std::fs::rename(&draft, path).map_err(fault)?;
    sync_folder(folder)
}

fn slot_bytes(count: u64, mark: Mark) -> Vec<u8> {
    let mut bytes = mark_text(count, mark).into_bytes();
    bytes.resize(SLOT, b'\n');
    bytes
}

fn read_slot(slot: &[u8]) -> Option<(u64, Mark)> {
    read_mark_text(std::str::from_utf8(slot).ok()?.trim_end())
}

/// Count, size, root and the SHA-256 of those, on one line.
pub(crate) fn mark_text(count: u64, mark: Mark) -> String {
    let text = format!("{count} {} {}", mark.size, mark.root);
    let check = Digest::of(text.as_bytes());
    format!("{text} {check}\n")
}

/// Reads what [`mark_text`] wrote, without its newline.
pub(crate) fn read_mark_text(text: &str) -> Option<(u64, Mark)> {
    let (text, check) = text.rsplit_once(' ')?;
    if check.parse() != Ok(Digest::of(text.as_bytes())) {
        return None;
    }
    let mut words = text.split(' ');
    let count = words.next()?.parse().ok()?;
    let size = words.next()?.parse().ok()?;
    let root = words.next()?.parse().ok()?;
    Some((count, Mark { size, root }))
}

/// After a failed sync nobody knows what is on the disk; asking again would only hide that.
fn fatal(path: &Path, error: &std::io::Error) -> StoreError {
    StoreError::Fatal { says: format!("{}: {error}", path.display()).as_str().into() }
}

pub(crate) fn sync_folder(folder: &Path) -> Result<(), StoreError> {
    let open = File::open(folder).map_err(|error| StoreError::file(folder, &error))?;
    open.sync_all().map_err(|error| fatal(folder, &error))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(size: u64) -> Mark {
        Mark { size, root: Digest::of(&size.to_be_bytes()) }
    }

    #[test]
    fn a_torn_write_leaves_the_mark_before() {
        let folder = tempfile::tempdir().unwrap();
        let origin: Arc<str> = "gannet.example/quay/2026".into();
        let mut marks = HighWater::new(folder.path()).unwrap();
        assert_eq!(marks.read(&origin).unwrap(), None);
        for size in 1..=5 {
            marks.raise(&origin, mark(size)).unwrap();
        }
        let path = marks.open[&origin].path.clone();
        drop(marks);
        let whole = std::fs::read(&path).unwrap();
        let read = |bytes: &[u8]| {
            std::fs::write(&path, bytes).unwrap();
            HighWater::new(folder.path()).unwrap().read(&origin).unwrap()
        };
        assert_eq!(read(&whole), Some(mark(5)));
        // The fifth write went to the second slot; whatever of it is torn, the fourth stands.
        for torn in 2 * SLOT..2 * SLOT + 100 {
            let mut bytes = whole.clone();
            bytes[torn] ^= 1;
            assert_eq!(read(&bytes), Some(mark(4)), "byte {torn}");
        }
    }

    #[test]
    fn a_file_with_nothing_readable_is_damage_not_a_fresh_start() {
        let folder = tempfile::tempdir().unwrap();
        let origin: Arc<str> = "gannet.example/quay/2026".into();
        let mut marks = HighWater::new(folder.path()).unwrap();
        marks.raise(&origin, mark(1)).unwrap();
        let path = marks.open[&origin].path.clone();
        drop(marks);
        let mut bytes = std::fs::read(&path).unwrap();
        bytes[SLOT] ^= 1;
        bytes[2 * SLOT] ^= 1;
        std::fs::write(&path, bytes).unwrap();
        let read = HighWater::new(folder.path()).unwrap().read(&origin);
        assert!(matches!(read, Err(StoreError::Damaged { .. })), "{read:?}");
    }

    #[test]
    fn the_names_of_the_logs_are_in_the_files() {
        let folder = tempfile::tempdir().unwrap();
        let mut marks = HighWater::new(folder.path()).unwrap();
        marks.raise(&"b/2027".into(), mark(1)).unwrap();
        marks.raise(&"a/2026".into(), mark(1)).unwrap();
        assert_eq!(marks.origins().unwrap(), ["a/2026".into(), "b/2027".into()]);
    }
}
