//! The limits: the database with the same columns and nothing else, and the disk's `fdatasync`.

use super::cluster;
use super::signed::DEVICES;
use anyhow::Result;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{Connection, Executor, PgConnection, QueryBuilder, Sqlite, SqliteConnection};
use std::fs::File;
use std::io::{Seek, SeekFrom, Write};
use store::Incoming;

const SQLITE: &str = "CREATE TABLE bare (place INTEGER PRIMARY KEY, chain INTEGER NOT NULL, \
    seq INTEGER NOT NULL, id BLOB NOT NULL, rx_ms INTEGER NOT NULL, rxe_ms INTEGER NOT NULL, \
    signature BLOB NOT NULL, bytes BLOB NOT NULL, UNIQUE (chain, seq)) STRICT";

const POSTGRES: &str = "CREATE TABLE bare (place BIGINT PRIMARY KEY, chain BIGINT NOT NULL, \
    seq BIGINT NOT NULL, id BYTEA NOT NULL, rx_ms BIGINT NOT NULL, rxe_ms BIGINT NOT NULL, \
    signature BYTEA NOT NULL, bytes BYTEA NOT NULL, UNIQUE (chain, seq))";

/// The bare table, on one connection.
pub(crate) enum Table {
    Sqlite { connection: SqliteConnection, rows: i64, _folder: tempfile::TempDir },
    Postgres { connection: PgConnection, rows: i64 },
}

impl Table {
    pub(crate) async fn open(engine: &str) -> Result<Table> {
        if engine == "postgres" {
            let mut connection = PgConnection::connect(&cluster::new_database().await).await?;
            connection.execute(POSTGRES).await?;
            return Ok(Table::Postgres { connection, rows: 0 });
        }
        let folder = tempfile::tempdir()?;
        let options = SqliteConnectOptions::new()
            .filename(folder.path().join("bare.db"))
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full);
        let mut connection = SqliteConnection::connect_with(&options).await?;
        connection.execute(SQLITE).await?;
        Ok(Table::Sqlite { connection, rows: 0, _folder: folder })
    }

    /// Multi-row `VALUES` on SQLite, `unnest` on PostgreSQL, one commit a batch.
    pub(crate) async fn insert(&mut self, batch: &[Incoming]) -> Result<()> {
        match self {
            Table::Sqlite { connection, rows, .. } => {
                sqlite(connection, *rows, batch).await?;
                *rows += batch.len() as i64;
            }
            Table::Postgres { connection, rows } => {
                postgres(connection, *rows, batch).await?;
                *rows += batch.len() as i64;
            }
        }
        Ok(())
    }
}

async fn sqlite(connection: &mut SqliteConnection, first: i64, batch: &[Incoming]) -> Result<()> {
    let mut writing = connection.begin_with("BEGIN IMMEDIATE").await?;
    let mut insert: QueryBuilder<Sqlite> = QueryBuilder::new("INSERT INTO bare ");
    insert.push_values(batch.iter().enumerate(), |mut row, (at, line)| {
        let id = line.line.id().0.0;
        row.push_bind(first + at as i64)
            .push_bind((at % DEVICES) as i64)
            .push_bind(line.line.seq as i64)
            .push_bind(id.to_vec())
            .push_bind(1_000_i64)
            .push_bind(5_i64)
            .push_bind(line.line.signature().0.to_vec())
            .push_bind(line.line.bytes());
    });
    insert.build().execute(&mut *writing).await?;
    Ok(writing.commit().await?)
}

async fn postgres(connection: &mut PgConnection, first: i64, batch: &[Incoming]) -> Result<()> {
    let mut writing = connection.begin().await?;
    sqlx::query(
        "INSERT INTO bare SELECT * FROM unnest($1::bigint[], $2::bigint[], $3::bigint[], \
         $4::bytea[], $5::bigint[], $6::bigint[], $7::bytea[], $8::bytea[])",
    )
    .bind((0..batch.len()).map(|at| first + at as i64).collect::<Vec<_>>())
    .bind((0..batch.len()).map(|at| (at % DEVICES) as i64).collect::<Vec<_>>())
    .bind(batch.iter().map(|line| line.line.seq as i64).collect::<Vec<_>>())
    .bind(batch.iter().map(|line| line.line.id().0.0.to_vec()).collect::<Vec<_>>())
    .bind(vec![1_000_i64; batch.len()])
    .bind(vec![5_i64; batch.len()])
    .bind(batch.iter().map(|line| line.line.signature().0.to_vec()).collect::<Vec<_>>())
    .bind(batch.iter().map(|line| line.line.bytes()).collect::<Vec<_>>())
    .execute(&mut *writing)
    .await?;
    Ok(writing.commit().await?)
}

/// Appends a page and writes a mark, each made durable: what one line and one head need at least.
pub(crate) struct Syncs {
    data: File,
    mark: File,
    turn: u64,
    _folder: tempfile::TempDir,
}

impl Syncs {
    pub(crate) fn open() -> Result<Syncs> {
        let folder = tempfile::tempdir()?;
        let data = File::create(folder.path().join("data"))?;
        let mut mark = File::create(folder.path().join("mark"))?;
        mark.write_all(&[0; 1_536])?;
        mark.sync_all()?;
        Ok(Syncs { data, mark, turn: 0, _folder: folder })
    }

    pub(crate) fn turn(&mut self) -> Result<()> {
        self.data.write_all(&[self.turn as u8; 4_096])?;
        self.data.sync_data()?;
        self.mark.seek(SeekFrom::Start(512 + self.turn % 2 * 512))?;
        self.mark.write_all(&[self.turn as u8; 512])?;
        self.mark.sync_data()?;
        self.turn += 1;
        Ok(())
    }
}
