//! Where a store lives and what it may use.

use crate::blobs::BLOB_BYTES_MAX;
use crate::shared_marks::SharedMarks;
use std::path::{Path, PathBuf};

/// Where a store lives and what it may use.
#[derive(Debug, Clone)]
pub struct Options {
    /// `sqlite:PATH` or a plain path; `postgres://…` for PostgreSQL.
    pub database: String,
    /// Folder of the blobs.
    pub blobs: PathBuf,
    /// Folder of the high-water marks: on another disk, and in no backup of the database.
    pub high_water: PathBuf,
    /// Marks that several servers share, besides those in the folder.
    pub shared_marks: Option<SharedMarks>,
    /// Bytes that stay free; none: 2 % of each disk, at most 1 GiB.
    pub reserve_bytes: Option<u64>,
    /// The largest blob.
    pub blob_bytes_max: u64,
    /// Name of the SQLite file layer to use instead of the system's; for tests of lost power.
    pub vfs: Option<String>,
}

impl Options {
    /// Everything in one folder: good for a first start and for tests. The marks should move to
    /// another disk before it matters.
    pub fn in_folder(folder: &Path) -> Options {
        Options {
            database: format!("sqlite:{}", folder.join("record.db").display()),
            blobs: folder.join("blobs"),
            high_water: folder.join("high-water"),
            shared_marks: None,
            reserve_bytes: None,
            blob_bytes_max: BLOB_BYTES_MAX,
            vfs: None,
        }
    }

    /// The scheme of a URL that names neither kind of database: taken for a path, it would make an empty
    /// record of that name.
    pub(crate) fn foreign_scheme(&self) -> Option<&str> {
        let (scheme, _) = self.database.split_once("://")?;
        let known = ["postgres", "postgresql", "sqlite"];
        (!scheme.contains('/') && !known.contains(&scheme)).then_some(scheme)
    }

    pub(crate) fn sqlite_path(&self) -> Option<&Path> {
        let is_postgres =
            self.database.starts_with("postgres://") || self.database.starts_with("postgresql://");
        let path = self.database.strip_prefix("sqlite:").unwrap_or(&self.database);
        (!is_postgres).then(|| Path::new(path.strip_prefix("//").unwrap_or(path)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_url_of_another_database_is_no_path() {
        let of = |database: &str| {
            let options =
                Options { database: database.into(), ..Options::in_folder(Path::new(".")) };
            options.foreign_scheme().map(str::to_owned)
        };
        assert_eq!(of("mysql://host/name"), Some("mysql".to_owned()));
        for known in
            ["postgres://host/name", "postgresql://host/name", "sqlite:/var/r.db", "/a/b.db"]
        {
            assert_eq!(of(known), None, "{known}");
        }
    }
}
