//! The limits: the database with the same columns and nothing else, and the disk's `fdatasync`.

use super::signed::DEVICES;
use super::{BATCH, Turns, cluster, now};
use anyhow::Result;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{Connection, Executor, PgConnection, QueryBuilder, Sqlite, SqliteConnection};
use std::io::{Seek, SeekFrom, Write};
use store::Incoming;

const SQLITE: &str = "CREATE TABLE bare (place INTEGER PRIMARY KEY, chain INTEGER NOT NULL, \
    seq INTEGER NOT NULL, id BLOB NOT NULL, rx_ms INTEGER NOT NULL, rxe_ms INTEGER NOT NULL, \
    signature BLOB NOT NULL, bytes BLOB NOT NULL, UNIQUE (chain, seq)) STRICT";

const POSTGRES: &str = "CREATE TABLE bare (place BIGINT PRIMARY KEY, chain BIGINT NOT NULL, \
    seq BIGINT NOT NULL, id BYTEA NOT NULL, rx_ms BIGINT NOT NULL, rxe_ms BIGINT NOT NULL, \
    signature BYTEA NOT NULL, bytes BYTEA NOT NULL, UNIQUE (chain, seq))";

/// Multi-row `VALUES` on SQLite, `unnest` on PostgreSQL, one commit a batch.
pub(crate) async fn batches(engine: &str, lines: &[Incoming]) -> Result<Turns> {
    match engine {
        "sqlite" => sqlite(lines).await,
        _ => postgres(lines).await,
    }
}

async fn sqlite(lines: &[Incoming]) -> Result<Turns> {
    let folder = tempfile::tempdir()?;
    let options = SqliteConnectOptions::new()
        .filename(folder.path().join("bare.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full);
    let mut connection = SqliteConnection::connect_with(&options).await?;
    connection.execute(SQLITE).await?;
    let (began, mut each_ms) = (now(), Vec::new());
    for (turn, batch) in lines.chunks(BATCH).enumerate() {
        let began = now();
        let mut writing = connection.begin_with("BEGIN IMMEDIATE").await?;
        let mut insert: QueryBuilder<Sqlite> = QueryBuilder::new("INSERT INTO bare ");
        insert.push_values(batch.iter().enumerate(), |mut row, (at, line)| {
            let id = line.line.id().0.0;
            row.push_bind((turn * BATCH + at) as i64)
                .push_bind((at % DEVICES) as i64)
                .push_bind(line.line.seq as i64)
                .push_bind(id.to_vec())
                .push_bind(1_000_i64)
                .push_bind(5_i64)
                .push_bind(line.line.signature().0.to_vec())
                .push_bind(line.line.bytes());
        });
        insert.build().execute(&mut *writing).await?;
        writing.commit().await?;
        each_ms.push(began.elapsed().as_secs_f64() * 1e3);
    }
    Ok(Turns { lines: lines.len(), whole_s: began.elapsed().as_secs_f64(), each_ms })
}

async fn postgres(lines: &[Incoming]) -> Result<Turns> {
    let mut connection = PgConnection::connect(&cluster::new_database().await).await?;
    connection.execute(POSTGRES).await?;
    let (began, mut each_ms) = (now(), Vec::new());
    for (turn, batch) in lines.chunks(BATCH).enumerate() {
        let began = now();
        let mut writing = connection.begin().await?;
        sqlx::query(
            "INSERT INTO bare SELECT * FROM unnest($1::bigint[], $2::bigint[], $3::bigint[], \
             $4::bytea[], $5::bigint[], $6::bigint[], $7::bytea[], $8::bytea[])",
        )
        .bind((0..batch.len()).map(|at| (turn * BATCH + at) as i64).collect::<Vec<_>>())
        .bind((0..batch.len()).map(|at| (at % DEVICES) as i64).collect::<Vec<_>>())
        .bind(batch.iter().map(|line| line.line.seq as i64).collect::<Vec<_>>())
        .bind(batch.iter().map(|line| line.line.id().0.0.to_vec()).collect::<Vec<_>>())
        .bind(vec![1_000_i64; batch.len()])
        .bind(vec![5_i64; batch.len()])
        .bind(batch.iter().map(|line| line.line.signature().0.to_vec()).collect::<Vec<_>>())
        .bind(batch.iter().map(|line| line.line.bytes()).collect::<Vec<_>>())
        .execute(&mut *writing)
        .await?;
        writing.commit().await?;
        each_ms.push(began.elapsed().as_secs_f64() * 1e3);
    }
    Ok(Turns { lines: lines.len(), whole_s: began.elapsed().as_secs_f64(), each_ms })
}

/// Appends a page and writes a mark, each made durable: what one line and one head need at least.
pub(crate) fn sync_pairs(turns: usize) -> Result<Turns> {
    let folder = tempfile::tempdir()?;
    let mut data = std::fs::File::create(folder.path().join("data"))?;
    let mut mark = std::fs::File::create(folder.path().join("mark"))?;
    mark.write_all(&[0; 1_536])?;
    mark.sync_all()?;
    let (began, mut each_ms) = (now(), Vec::new());
    for turn in 0..turns {
        let began = now();
        data.write_all(&[turn as u8; 4_096])?;
        data.sync_data()?;
        mark.seek(SeekFrom::Start(512 + (turn as u64 % 2) * 512))?;
        mark.write_all(&[turn as u8; 512])?;
        mark.sync_data()?;
        each_ms.push(began.elapsed().as_secs_f64() * 1e3);
    }
    Ok(Turns { lines: turns, whole_s: began.elapsed().as_secs_f64(), each_ms })
}
