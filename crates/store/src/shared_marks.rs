//! High-water marks in an object store: where several servers may order the lines one after the other,
//! each must see what the others signed. A mark is an object that is put only if it is not there yet, so
//! that of two servers which both believe that they lead only one can raise it.
//!
//! Under the SHA-256 of a log's name the objects are numbered; the highest counts. Each is text: name of
//! the log, then number, size, root and the SHA-256 of those.

use crate::error::StoreError;
use crate::high_water::{Mark, mark_text, read_mark_text};
use futures_util::TryStreamExt;
use ledger::Digest;
use object_store::local::LocalFileSystem;
use object_store::path::Path as Name;
use object_store::{ObjectStore, ObjectStoreExt, PutMode, PutOptions};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// Marks kept besides the newest, for people who look.
const KEPT: u64 = 8;

/// An object store that several servers reach.
#[derive(Debug, Clone)]
pub struct SharedMarks(Arc<dyn ObjectStore>);

impl SharedMarks {
    /// In a folder that all servers reach, for instance of a network file system.
    pub fn in_folder(folder: &Path) -> Result<SharedMarks, StoreError> {
        std::fs::create_dir_all(folder).map_err(|error| StoreError::file(folder, &error))?;
        let objects = LocalFileSystem::new_with_prefix(folder).map_err(|error| fault(&error))?;
        Ok(SharedMarks(Arc::new(objects.with_fsync(true))))
    }

    /// In any object store that can put an object only if it is not there yet.
    pub fn of(objects: Arc<dyn ObjectStore>) -> SharedMarks {
        SharedMarks(objects)
    }
}

/// The marks as one server has seen them.
#[derive(Debug)]
pub(crate) struct Objects {
    objects: Arc<dyn ObjectStore>,
    seen: BTreeMap<Arc<str>, (u64, Option<Mark>)>,
}

impl Objects {
    pub(crate) fn new(shared: &SharedMarks) -> Objects {
        Objects { objects: shared.0.clone(), seen: BTreeMap::new() }
    }

    /// Names of all logs that have a mark.
    pub(crate) async fn origins(&self) -> Result<Vec<Arc<str>>, StoreError> {
        let found = self.objects.list_with_delimiter(None).await.map_err(|error| fault(&error))?;
        let mut origins = Vec::new();
        for folder in found.common_prefixes {
            if let Some((_, text)) = self.newest(&folder).await? {
                origins.push(Arc::from(text.lines().next().unwrap_or_default()));
            }
        }
        origins.sort();
        Ok(origins)
    }

    /// The mark of a log; none if nothing of it was ever signed.
    pub(crate) async fn read(&mut self, origin: &Arc<str>) -> Result<Option<Mark>, StoreError> {
        if let Some((_, mark)) = self.seen.get(origin) {
            return Ok(*mark);
        }
        let (number, mark) = match self.newest(&folder(origin)).await? {
            None => (0, None),
            Some((number, text)) => {
                let said = text.lines().nth(1).and_then(read_mark_text);
                let fits = said.filter(|(count, _)| *count == number);
                let (_, mark) = fits.ok_or_else(|| {
                    StoreError::damaged(format!(
                        "the shared high-water mark {number} of {origin} cannot be read, so nothing \
                         tells what was signed"
                    ))
                })?;
                (number, Some(mark))
            }
        };
        self.seen.insert(origin.clone(), (number, mark));
        Ok(mark)
    }

    /// Raises the mark and returns when that is durable. Fails for good if somebody else has raised it.
    pub(crate) async fn raise(&mut self, origin: &Arc<str>, mark: Mark) -> Result<(), StoreError> {
        if self.read(origin).await? == Some(mark) {
            return Ok(());
        }
        let number = self.seen[origin].0 + 1;
        let text = format!("{origin}\n{}", mark_text(number, mark));
        let options = PutOptions { mode: PutMode::Create, ..PutOptions::default() };
        let name = object(origin, number);
        match self.objects.put_opts(&name, text.into_bytes().into(), options).await {
            Ok(_) => {}
            Err(object_store::Error::AlreadyExists { .. }) => {
                return Err(StoreError::MarkTaken { origin: origin.clone() });
            }
            Err(error) => return Err(fault(&error)),
        }
        self.seen.insert(origin.clone(), (number, Some(mark)));
        if let Some(old) = number.checked_sub(KEPT).filter(|old| *old > 0) {
            // A mark that stays too long harms nobody.
            let _ = self.objects.delete(&object(origin, old)).await;
        }
        Ok(())
    }

    /// Number and text of the newest mark in a folder.
    async fn newest(&self, folder: &Name) -> Result<Option<(u64, String)>, StoreError> {
        let found: Vec<_> =
            self.objects.list(Some(folder)).try_collect().await.map_err(|error| fault(&error))?;
        let numbers = found.iter().filter_map(|object| object.location.filename()?.parse().ok());
        let Some(number) = numbers.max() else { return Ok(None) };
        let name = folder.clone().join(format!("{number:020}"));
        let object = self.objects.get(&name).await.map_err(|error| fault(&error))?;
        let bytes = object.bytes().await.map_err(|error| fault(&error))?;
        Ok(Some((number, String::from_utf8_lossy(&bytes).into_owned())))
    }
}

fn folder(origin: &str) -> Name {
    Name::from(Digest::of(origin.as_bytes()).to_string())
}

fn object(origin: &str, number: u64) -> Name {
    folder(origin).join(format!("{number:020}"))
}

fn fault(error: &object_store::Error) -> StoreError {
    StoreError::File {
        path: "the shared high-water marks".into(),
        says: error.to_string().as_str().into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use object_store::memory::InMemory;

    fn mark(size: u64) -> Mark {
        Mark { size, root: Digest::of(&size.to_be_bytes()) }
    }

    async fn check(shared: SharedMarks) {
        let origin: Arc<str> = "gannet.example/quay/2026".into();
        let mut first = Objects::new(&shared);
        assert_eq!(first.read(&origin).await.unwrap(), None);
        for size in 1..=20 {
            first.raise(&origin, mark(size)).await.unwrap();
        }
        first.raise(&origin, mark(20)).await.unwrap();
        // Another server sees what was signed, and goes on from there.
        let mut second = Objects::new(&shared);
        assert_eq!(second.origins().await.unwrap(), std::slice::from_ref(&origin));
        assert_eq!(second.read(&origin).await.unwrap(), Some(mark(20)));
        second.raise(&origin, mark(21)).await.unwrap();
        // The first, which still believes that it leads, raises nothing more, also not to the same.
        for size in [21, 22] {
            let refused = first.raise(&origin, mark(size)).await;
            assert!(matches!(refused, Err(StoreError::MarkTaken { .. })), "{refused:?}");
        }
        assert_eq!(Objects::new(&shared).read(&origin).await.unwrap(), Some(mark(21)));
    }

    #[tokio::test]
    async fn of_two_servers_only_one_raises_a_mark() {
        check(SharedMarks::of(Arc::new(InMemory::new()))).await;
        let folder = tempfile::tempdir().unwrap();
        check(SharedMarks::in_folder(folder.path()).unwrap()).await;
    }

    #[tokio::test]
    async fn a_mark_that_cannot_be_read_is_damage_not_a_fresh_start() {
        let objects: Arc<dyn ObjectStore> = Arc::new(InMemory::new());
        let origin: Arc<str> = "gannet.example/quay/2026".into();
        let shared = SharedMarks::of(objects.clone());
        Objects::new(&shared).raise(&origin, mark(3)).await.unwrap();
        let text = format!("{origin}\n{}", mark_text(1, mark(3))).replace(" 3 ", " 4 ");
        objects.put(&object(&origin, 1), text.into_bytes().into()).await.unwrap();
        let read = Objects::new(&shared).read(&origin).await;
        assert!(matches!(read, Err(StoreError::Damaged { .. })), "{read:?}");
    }
}
