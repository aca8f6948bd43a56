//! SQLite: one file, one writing connection, readers beside it (WAL).

mod append;
mod facts;
mod read;
mod values;

use crate::backend::{Backend, ChainRow, Change, HeadRow, LineRow, LogRow, Select, Standing};
use crate::error::StoreError;
use crate::outcome::{Quarantined, StoredLine};
use crate::settings::{Expect, Setting, SettingKey, Written};
use crate::steps;
use async_trait::async_trait;
use ledger::{DeviceId, Digest, WatchId};
use sqlx::migrate::Migrator;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{Connection, Pool, Sqlite, SqliteConnection};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

/// A place is `log * 2^40 + index`.
const LOG_SHIFT: u32 = 40;

/// "RATW", which the first migration writes into the file's header.
const APPLICATION_ID: i64 = 0x5241_5457;

/// How long a connection waits for another process's lock.
const BUSY_TIMEOUT: Duration = Duration::from_secs(10);

const READERS: u32 = 4;

/// How the tables came to be.
static STEPS: Migrator = sqlx::migrate!("migrations/sqlite");

#[derive(Debug)]
pub(crate) struct SqliteStore {
    writer: Pool<Sqlite>,
    readers: Pool<Sqlite>,
}

impl SqliteStore {
    /// Opens or makes the database and brings its tables up to date.
    pub(crate) async fn open(path: &Path, vfs: Option<&str>) -> Result<SqliteStore, StoreError> {
        let mut options = options(path, vfs).create_if_missing(true);
        options = options.pragma("secure_delete", "ON");
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .test_before_acquire(false)
            .after_release(|connection, _| Box::pin(is_sound(connection)))
            .connect_with(options);
        let writer = writer.await.map_err(|error| not_ours(path, &error))?;
        check_ours(path, &writer).await?;
        STEPS.run(&writer).await.map_err(|error| steps::refused(name_of(path), &error))?;
        let readers = readers(path, vfs).await?;
        Ok(SqliteStore { writer, readers })
    }

    /// Opens an existing database without writing to it.
    pub(crate) async fn open_reader(path: &Path) -> Result<SqliteStore, StoreError> {
        let readers = readers(path, None).await?;
        check_ours(path, &readers).await?;
        let newest = sqlx::query_scalar("SELECT max(version) FROM _sqlx_migrations WHERE success");
        let newest = newest.fetch_one(&readers).await.map_err(|error| not_ours(path, &error))?;
        steps::fits(name_of(path), &STEPS, newest)?;
        Ok(SqliteStore { writer: readers.clone(), readers })
    }
}

/// Whether a connection may be used again. After some errors (a full disk) SQLite ends the
/// transaction by itself, and the driver then believes for ever that it is still inside one.
async fn is_sound(connection: &mut SqliteConnection) -> Result<bool, sqlx::Error> {
    if connection.is_in_transaction() {
        // A rollback may be on its way; this waits for it.
        connection.ping().await?;
    }
    Ok(!connection.is_in_transaction())
}

/// Refuses a database that another program made, before anything is written to it.
async fn check_ours(path: &Path, pool: &Pool<Sqlite>) -> Result<(), StoreError> {
    let number = sqlx::query_scalar("PRAGMA application_id").fetch_one(pool).await;
    let number: i64 = number.map_err(|error| not_ours(path, &error))?;
    // A first start that was killed may have left the list of migrations and nothing else.
    let tables = sqlx::query_scalar(
        "SELECT count(*) FROM sqlite_schema WHERE tbl_name <> '_sqlx_migrations'",
    );
    let tables = tables.fetch_one(pool).await;
    let tables: i64 = tables.map_err(|error| not_ours(path, &error))?;
    if number == APPLICATION_ID || (number == 0 && tables == 0) {
        return Ok(());
    }
    Err(StoreError::NotOurs {
        at: name_of(path),
        says: "another program made this database. Choose another path".into(),
    })
}

fn options(path: &Path, vfs: Option<&str>) -> SqliteConnectOptions {
    // The busy timeout is set while opening, before any pragma: changing to WAL needs a lock.
    let mut options = SqliteConnectOptions::new()
        .filename(path)
        .busy_timeout(BUSY_TIMEOUT)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(false);
    if let Some(vfs) = vfs {
        options = options.vfs(vfs.to_owned());
    }
    options
}

async fn readers(path: &Path, vfs: Option<&str>) -> Result<Pool<Sqlite>, StoreError> {
    let options = options(path, vfs).pragma("query_only", "ON");
    let readers = SqlitePoolOptions::new()
        .max_connections(READERS)
        .test_before_acquire(false)
        .connect_with(options);
    readers.await.map_err(|error| not_ours(path, &error))
}

fn not_ours(path: &Path, error: &sqlx::Error) -> StoreError {
    StoreError::NotOurs { at: name_of(path), says: error.to_string().as_str().into() }
}

fn name_of(path: &Path) -> Arc<str> {
    path.to_string_lossy().as_ref().into()
}

/// Sorts the database's errors by what the caller must do.
fn fault(error: sqlx::Error) -> StoreError {
    let says: Arc<str> = error.to_string().as_str().into();
    let code = match &error {
        sqlx::Error::Database(database) => database.code().and_then(|code| code.parse().ok()),
        sqlx::Error::Io(_) | sqlx::Error::WorkerCrashed => return StoreError::Unknown { says },
        _ => None,
    };
    // Extended result codes: https://www.sqlite.org/rescode.html
    match code {
        // SQLITE_IOERR_FSYNC, SQLITE_IOERR_DIR_FSYNC
        Some(1034 | 1290) => StoreError::Fatal { says },
        // SQLITE_FULL
        Some(13) => StoreError::LowDisk { free_bytes: 0, least_bytes: 0 },
        // SQLITE_CORRUPT, SQLITE_NOTADB
        Some(11 | 26) => StoreError::Damaged { says },
        Some(code) if code & 0xff == 11 => StoreError::Damaged { says },
        _ => StoreError::Database { says },
    }
}

fn place(log: i64, index: u64) -> i64 {
    (log << LOG_SHIFT) + index as i64
}

fn log_and_index(place: i64) -> (i64, u64) {
    (place >> LOG_SHIFT, (place & ((1 << LOG_SHIFT) - 1)) as u64)
}

#[async_trait]
impl Backend for SqliteStore {
    async fn take_over(&self) -> Result<i64, StoreError> {
        facts::take_over(&self.writer).await
    }

    async fn create_log(&self, epoch: i64, origin: &str) -> Result<(), StoreError> {
        append::create_log(&self.writer, epoch, origin).await
    }

    async fn logs(&self) -> Result<Vec<LogRow>, StoreError> {
        facts::logs(&self.readers).await
    }

    async fn last_chain(&self) -> Result<i64, StoreError> {
        facts::last_chain(&self.readers).await
    }

    async fn chains(&self, of: &[(DeviceId, WatchId)]) -> Result<Vec<ChainRow>, StoreError> {
        facts::chains(&self.readers, of).await
    }

    async fn held(&self, chains: &[i64]) -> Result<Vec<LineRow>, StoreError> {
        facts::held(&self.readers, chains).await
    }

    async fn quarantined(&self, chain: i64) -> Result<u64, StoreError> {
        facts::quarantined(&self.readers, chain).await
    }

    async fn standing(&self, at: &[(i64, u64)]) -> Result<Vec<Standing>, StoreError> {
        facts::standing(&self.readers, at).await
    }

    async fn commit(&self, change: &Change) -> Result<(), StoreError> {
        append::commit(&self.writer, change).await
    }

    async fn lines(&self, select: &Select, limit: u32) -> Result<Vec<StoredLine>, StoreError> {
        read::lines(&self.readers, select, limit).await
    }

    async fn private(&self, log: i64, index: u64) -> Result<Option<Option<Vec<u8>>>, StoreError> {
        read::private(&self.readers, place(log, index)).await
    }

    async fn erase_private(&self, epoch: i64, log: i64, index: u64) -> Result<(), StoreError> {
        append::erase_private(&self.writer, epoch, place(log, index)).await
    }

    async fn tile(
        &self,
        log: i64,
        level: u8,
        tile: u64,
    ) -> Result<Option<Vec<Digest>>, StoreError> {
        read::tile(&self.readers, log, level, tile).await
    }

    async fn all_held(&self) -> Result<Vec<(DeviceId, WatchId, u64)>, StoreError> {
        read::all_held(&self.readers).await
    }

    async fn quarantine(&self, limit: u32) -> Result<Vec<Quarantined>, StoreError> {
        read::quarantine(&self.readers, limit).await
    }

    async fn keep_head(&self, epoch: i64, log: i64, head: &HeadRow) -> Result<(), StoreError> {
        append::keep_head(&self.writer, epoch, log, head).await
    }

    async fn head(&self, log: i64, at_most: u64) -> Result<Option<HeadRow>, StoreError> {
        read::head(&self.readers, log, at_most).await
    }

    async fn setting(&self, key: &SettingKey) -> Result<Option<Setting>, StoreError> {
        values::setting(&self.readers, key).await
    }

    async fn settings(&self, collection: &str, prefix: &str) -> Result<Vec<Setting>, StoreError> {
        values::settings(&self.readers, collection, prefix).await
    }

    async fn write_setting(
        &self,
        epoch: i64,
        key: &SettingKey,
        value: Option<&str>,
        expect: Expect,
    ) -> Result<Written, StoreError> {
        values::write_setting(&self.writer, epoch, key, value, expect).await
    }

    async fn copy_setting(&self, epoch: i64, setting: &Setting) -> Result<(), StoreError> {
        values::copy_setting(&self.writer, epoch, setting).await
    }

    async fn collections(&self) -> Result<Vec<String>, StoreError> {
        values::collections(&self.readers).await
    }

    async fn derived(&self, collection: &str, key: &str) -> Result<Option<Vec<u8>>, StoreError> {
        values::derived(&self.readers, collection, key).await
    }

    async fn write_derived(
        &self,
        collection: &str,
        key: &str,
        value: &[u8],
    ) -> Result<(), StoreError> {
        values::write_derived(&self.writer, collection, key, value).await
    }

    async fn drop_derived(&self) -> Result<(), StoreError> {
        values::drop_derived(&self.writer).await
    }

    async fn self_check(&self) -> Result<Vec<String>, StoreError> {
        read::self_check(&self.readers).await
    }

    async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }
}
