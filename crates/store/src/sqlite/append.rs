//! The one transaction that appends, and the other writes to the record.

use super::{fault, place};
use crate::backend::{Change, ForkRow, HeadRow, LineRow, PlacedRow, TileRow};
use crate::columns::bytes_of;
use crate::error::StoreError;
use ledger::{DeviceId, WatchId};
use sqlx::{Pool, QueryBuilder, Sqlite, Transaction};

/// Rows in one statement; SQLite allows 32,766 parameters.
const AT_A_TIME: usize = 1_000;

type Writing<'a> = Transaction<'a, Sqlite>;

/// Takes the write lock at once: a transaction that first reads and then wants to write can fail
/// half-way with a lock that no waiting cures.
pub(super) async fn begin(
    writer: &Pool<Sqlite>,
    epoch: i64,
) -> Result<Writing<'static>, StoreError> {
    let mut writing = writer.begin_with("BEGIN IMMEDIATE").await.map_err(fault)?;
    check_epoch(&mut writing, epoch).await?;
    Ok(writing)
}

pub(super) async fn create_log(
    writer: &Pool<Sqlite>,
    epoch: i64,
    origin: &str,
) -> Result<(), StoreError> {
    let mut writing = begin(writer, epoch).await?;
    sqlx::query(
        "INSERT INTO logs (origin, size, root, rx_ms, epoch) VALUES (?, 0, ?, 0, ?) \
         ON CONFLICT (origin) DO NOTHING",
    )
    .bind(origin)
    .bind(ledger::merkle::empty_root().0.to_vec())
    .bind(epoch)
    .execute(&mut *writing)
    .await
    .map_err(fault)?;
    writing.commit().await.map_err(fault)
}

pub(super) async fn commit(writer: &Pool<Sqlite>, change: &Change) -> Result<(), StoreError> {
    let mut writing = writer.begin_with("BEGIN IMMEDIATE").await.map_err(fault)?;
    move_log(&mut writing, change).await?;
    chains(&mut writing, &change.chains).await?;
    lines(&mut writing, change.log, &change.lines).await?;
    privates(&mut writing, change.log, &change.lines).await?;
    held(&mut writing, &change.held).await?;
    unheld(&mut writing, &change.unheld).await?;
    forks(&mut writing, &change.forks).await?;
    tiles(&mut writing, change.log, &change.tiles).await?;
    if let Some(row) = &change.head {
        head(&mut writing, change.log, row).await?;
    }
    writing.commit().await.map_err(fault)
}

/// Moves the committed row on, if it is where the change began and the epoch is still ours.
async fn move_log(writing: &mut Writing<'_>, change: &Change) -> Result<(), StoreError> {
    let moved = sqlx::query(
        "UPDATE logs SET size = ?, root = ?, rx_ms = ?, closing = ? \
         WHERE log = ? AND size = ? AND root = ? AND epoch = ? AND closing IS NULL",
    )
    .bind(change.after.0 as i64)
    .bind(&change.after.1.0[..])
    .bind(change.rx_ms)
    .bind(change.closing.as_deref())
    .bind(change.log)
    .bind(change.before.0 as i64)
    .bind(&change.before.1.0[..])
    .bind(change.epoch)
    .execute(&mut **writing)
    .await
    .map_err(fault)?;
    if moved.rows_affected() == 1 {
        return Ok(());
    }
    check_epoch(writing, change.epoch).await?;
    Err(StoreError::HeadMoved { origin: change.origin.clone() })
}

async fn check_epoch(writing: &mut Writing<'_>, ours: i64) -> Result<(), StoreError> {
    let current = sqlx::query_scalar("SELECT epoch FROM fence").fetch_one(&mut **writing).await;
    let current: i64 = current.map_err(fault)?;
    if current == ours { Ok(()) } else { Err(StoreError::Fenced { ours, current }) }
}

async fn chains(
    writing: &mut Writing<'_>,
    chains: &[(i64, DeviceId, WatchId)],
) -> Result<(), StoreError> {
    for part in chains.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new("INSERT INTO chains (chain, dev, watch) ");
        query.push_values(part, |mut row, (chain, dev, watch)| {
            row.push_bind(*chain).push_bind(&dev.0.0[..]).push_bind(watch.as_str());
        });
        query.build().execute(&mut **writing).await.map_err(fault)?;
    }
    Ok(())
}

async fn lines(writing: &mut Writing<'_>, log: i64, lines: &[PlacedRow]) -> Result<(), StoreError> {
    for part in lines.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new(
            "INSERT INTO lines (place, chain, seq, id, rx_ms, rxe_ms, signature, bytes) ",
        );
        query.push_values(part, |mut row, placed| {
            row.push_bind(place(log, placed.index))
                .push_bind(placed.line.chain)
                .push_bind(placed.line.seq as i64)
                .push_bind(&placed.line.id.0.0[..])
                .push_bind(placed.rx_ms)
                .push_bind(placed.rxe_ms)
                .push_bind(&placed.line.signature.0[..])
                .push_bind(&placed.line.bytes[..]);
        });
        query.build().execute(&mut **writing).await.map_err(fault)?;
    }
    Ok(())
}

async fn privates(
    writing: &mut Writing<'_>,
    log: i64,
    lines: &[PlacedRow],
) -> Result<(), StoreError> {
    let with: Vec<&PlacedRow> = lines.iter().filter(|row| row.line.private.is_some()).collect();
    for part in with.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new("INSERT INTO private_lines (place, bytes) ");
        query.push_values(part, |mut row, placed| {
            row.push_bind(place(log, placed.index)).push_bind(placed.line.private.as_deref());
        });
        query.build().execute(&mut **writing).await.map_err(fault)?;
    }
    Ok(())
}

async fn held(writing: &mut Writing<'_>, held: &[LineRow]) -> Result<(), StoreError> {
    for part in held.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new(
            "INSERT INTO held (chain, seq, id, prev, signature, bytes, private) ",
        );
        query.push_values(part, |mut row, line| {
            row.push_bind(line.chain)
                .push_bind(line.seq as i64)
                .push_bind(&line.id.0.0[..])
                .push_bind(&line.prev.0.0[..])
                .push_bind(&line.signature.0[..])
                .push_bind(&line.bytes[..])
                .push_bind(line.private.as_deref());
        });
        query.build().execute(&mut **writing).await.map_err(fault)?;
    }
    Ok(())
}

async fn unheld(writing: &mut Writing<'_>, unheld: &[(i64, u64)]) -> Result<(), StoreError> {
    for part in unheld.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new("DELETE FROM held WHERE (chain, seq) IN (");
        query.push_values(part, |mut tuple, (chain, seq)| {
            tuple.push_bind(*chain).push_bind(*seq as i64);
        });
        query.push(")").build().execute(&mut **writing).await.map_err(fault)?;
    }
    Ok(())
}

async fn forks(writing: &mut Writing<'_>, forks: &[ForkRow]) -> Result<(), StoreError> {
    for part in forks.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new(
            "INSERT INTO quarantine (id, chain, seq, other, rx_ms, signature, bytes, private) ",
        );
        query.push_values(part, |mut row, fork| {
            row.push_bind(&fork.line.id.0.0[..])
                .push_bind(fork.line.chain)
                .push_bind(fork.line.seq as i64)
                .push_bind(&fork.other.0.0[..])
                .push_bind(fork.rx_ms)
                .push_bind(&fork.line.signature.0[..])
                .push_bind(&fork.line.bytes[..])
                .push_bind(fork.line.private.as_deref());
        });
        query.push(" ON CONFLICT (id) DO NOTHING");
        query.build().execute(&mut **writing).await.map_err(fault)?;
    }
    Ok(())
}

async fn tiles(writing: &mut Writing<'_>, log: i64, tiles: &[TileRow]) -> Result<(), StoreError> {
    for row in tiles {
        sqlx::query(
            "INSERT INTO tiles (log, level, tile, hashes) VALUES (?, ?, ?, ?) \
             ON CONFLICT (log, level, tile) DO UPDATE SET hashes = excluded.hashes",
        )
        .bind(log)
        .bind(i64::from(row.level))
        .bind(row.tile as i64)
        .bind(bytes_of(&row.hashes))
        .execute(&mut **writing)
        .await
        .map_err(fault)?;
    }
    Ok(())
}

pub(super) async fn keep_head(
    writer: &Pool<Sqlite>,
    epoch: i64,
    log: i64,
    row: &HeadRow,
) -> Result<(), StoreError> {
    let mut writing = begin(writer, epoch).await?;
    head(&mut writing, log, row).await?;
    writing.commit().await.map_err(fault)
}

async fn head(writing: &mut Writing<'_>, log: i64, row: &HeadRow) -> Result<(), StoreError> {
    sqlx::query(
        "INSERT INTO heads (log, size, root, note) VALUES (?, ?, ?, ?) \
         ON CONFLICT (log, size) DO UPDATE SET note = excluded.note",
    )
    .bind(log)
    .bind(row.size as i64)
    .bind(row.root.0.to_vec())
    .bind(&row.note)
    .execute(&mut **writing)
    .await
    .map_err(fault)?;
    Ok(())
}

/// Overwrites the bytes (`secure_delete`) and empties the write-ahead log, so that no file of the
/// database still holds them.
pub(super) async fn erase_private(
    writer: &Pool<Sqlite>,
    epoch: i64,
    place: i64,
) -> Result<(), StoreError> {
    let mut writing = begin(writer, epoch).await?;
    sqlx::query("UPDATE private_lines SET bytes = NULL WHERE place = ?")
        .bind(place)
        .execute(&mut *writing)
        .await
        .map_err(fault)?;
    writing.commit().await.map_err(fault)?;
    sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").fetch_all(writer).await.map_err(fault)?;
    Ok(())
}
