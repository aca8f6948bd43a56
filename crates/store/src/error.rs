//! What can go wrong with a store. Ordinary facts about a line (held, forked, refused) are
//! [outcomes](crate::Outcome), not errors.

use std::sync::Arc;

/// Why the store did not do what was asked. Nothing of the request was kept unless
/// [`StoreError::Unknown`] says that it may have been.
#[derive(Debug, Clone, thiserror::Error)]
pub enum StoreError {
    /// The database is older than a head that may already be in other hands.
    #[error(
        "log {origin}: the database ends at {database} leaves, but a head over {high_water} was signed: \
         this database is an old copy. Signing stays off. Restore the newest backup; if there is no newer \
         one, say so with --restored: another log then goes on, and the phones send again what they \
         still hold"
    )]
    RolledBack {
        /// The log.
        origin: Arc<str>,
        /// Leaves in the database.
        database: u64,
        /// Leaves under the highest head that may have been signed.
        high_water: u64,
    },
    /// The database has as many leaves as were once signed, but other ones.
    #[error(
        "log {origin}: the first {size} leaves of the database are not those that were signed. Signing \
         stays off. This database and the high-water file belong to different histories: restore the \
         database that was used last"
    )]
    OtherHistory {
        /// The log.
        origin: Arc<str>,
        /// The size at which the roots differ.
        size: u64,
    },
    /// The last lines of an old copy are under no signed head.
    #[error(
        "log {origin}: the database ends at {database} leaves, its newest signed head at {signed}: the \
         lines between could never be proven. Copy this folder with `rattlewatch restore --from`, which \
         leaves them to the phones, and start that copy"
    )]
    Uncovered {
        /// The log.
        origin: Arc<str>,
        /// Leaves in the database.
        database: u64,
        /// Leaves under its newest signed head.
        signed: u64,
    },
    /// A new log was to have the name of one of which heads were signed.
    #[error("log {origin}: heads of a log of that name were signed already: choose another name")]
    NameUsed {
        /// The name.
        origin: Arc<str>,
    },
    /// Another process has taken over as the one that orders lines.
    #[error(
        "another server has taken over this store (epoch {current}, ours was {ours}): stop this one"
    )]
    Fenced {
        /// The epoch this process holds.
        ours: i64,
        /// The epoch in the database.
        current: i64,
    },
    /// Another server has raised a shared high-water mark.
    #[error(
        "log {origin}: another server has raised the shared high-water mark: it orders the lines now, stop \
         this one"
    )]
    MarkTaken {
        /// The log.
        origin: Arc<str>,
    },
    /// Another running server holds the place of the one that orders lines.
    #[error("another server is running on this database: stop it first")]
    InUse,
    /// The head in the database is not the one this append was built on.
    #[error(
        "log {origin}: the head has moved on since this append began; it was reloaded, try again"
    )]
    HeadMoved {
        /// The log.
        origin: Arc<str>,
    },
    /// Too little room to write safely.
    #[error(
        "{} MiB are free on a disk, {} are kept as reserve: nothing was written. Make room",
        .free_bytes >> 20,
        .least_bytes >> 20
    )]
    LowDisk {
        /// Bytes free when asked; 0 if the database itself reported a full disk.
        free_bytes: u64,
        /// The least that must be free.
        least_bytes: u64,
    },
    /// A write could not be made durable. What is on the disk is unknown: the process must end, and
    /// the next start reads what really is there.
    #[error("a write could not be made durable ({says}): this process must stop now")]
    Fatal {
        /// What the system said.
        says: Arc<str>,
    },
    /// There is no log of that name.
    #[error("there is no log {origin}: create it first")]
    NoLog {
        /// The name asked for.
        origin: Arc<str>,
    },
    /// The log was closed and takes no more lines.
    #[error("log {origin} is closed: append to the one that follows it")]
    LogClosed {
        /// The log.
        origin: Arc<str>,
    },
    /// The size asked for is not within the log.
    #[error("log {origin} has {size} leaves: there is nothing to prove about {asked}")]
    Outside {
        /// The log.
        origin: Arc<str>,
        /// Its size.
        size: u64,
        /// What was asked for.
        asked: u64,
    },
    /// What the database holds contradicts itself.
    #[error("the store is damaged: {says}. Keep a copy of it as it is, then restore a backup")]
    Damaged {
        /// What contradicts what.
        says: Arc<str>,
    },
    /// Not a store of ours, or of a newer version.
    #[error("{at} is no store that this program can use: {says}")]
    NotOurs {
        /// The URL or path, without credentials.
        at: Arc<str>,
        /// What does not fit.
        says: Arc<str>,
    },
    /// Bytes do not have the digest by which they were named.
    #[error("the bytes received have the digest {found}, not {named}: send them again")]
    OtherDigest {
        /// The name.
        named: ledger::Digest,
        /// What the bytes hash to.
        found: ledger::Digest,
    },
    /// A piece of a blob does not follow the pieces before it.
    #[error("this blob has {have} bytes so far: send on from there, not from {offset}")]
    PieceOffset {
        /// Bytes already here.
        have: u64,
        /// Where the piece would begin.
        offset: u64,
    },
    /// A blob larger than the limit.
    #[error("the blob is larger than {limit_bytes} bytes, which is the limit")]
    BlobTooLarge {
        /// The limit.
        limit_bytes: u64,
    },
    /// The store is open for reading only.
    #[error("this store was opened for reading only")]
    ReadOnly,
    /// The connection broke at a moment when the write may or may not have been kept.
    #[error(
        "the database did not answer ({says}): the write may or may not be kept; send it again"
    )]
    Unknown {
        /// What the database said.
        says: Arc<str>,
    },
    /// The database refused or failed; nothing was kept.
    #[error("the database failed: {says}")]
    Database {
        /// What the database said.
        says: Arc<str>,
    },
    /// A file could not be read or written.
    #[error("{path}: {says}")]
    File {
        /// The file.
        path: Arc<str>,
        /// What the system said.
        says: Arc<str>,
    },
    /// The writer has ended.
    #[error("the store is closed")]
    Closed,
}

impl StoreError {
    /// Whether the process must end at once.
    pub fn is_fatal(&self) -> bool {
        matches!(
            self,
            StoreError::Fatal { .. } | StoreError::Fenced { .. } | StoreError::MarkTaken { .. }
        )
    }

    pub(crate) fn damaged(says: impl AsRef<str>) -> StoreError {
        StoreError::Damaged { says: says.as_ref().into() }
    }

    pub(crate) fn file(path: &std::path::Path, error: &std::io::Error) -> StoreError {
        if error.raw_os_error() == Some(rustix::io::Errno::NOSPC.raw_os_error()) {
            return StoreError::LowDisk { free_bytes: 0, least_bytes: 0 };
        }
        StoreError::File {
            path: path.to_string_lossy().as_ref().into(),
            says: error.to_string().as_str().into(),
        }
    }
}
