//! The one transaction that appends, and the other writes to the record. Each table gets its rows in
//! one statement, as arrays that the server takes apart (`unnest`).

use super::{fault, place};
use crate::backend::{Change, ForkRow, HeadRow, LineRow, PlacedRow};
use crate::columns::bytes_of;
use crate::error::StoreError;
use sqlx::{PgExecutor, Pool, Postgres, Transaction};

type Writing<'a> = Transaction<'a, Postgres>;

/// Begins a transaction that no take-over can pass: the share lock on the fence makes it wait.
pub(super) async fn begin(
    writer: &Pool<Postgres>,
    epoch: i64,
) -> Result<Writing<'static>, StoreError> {
    let mut writing = writer.begin().await.map_err(fault)?;
    check_epoch(&mut writing, epoch).await?;
    Ok(writing)
}

async fn check_epoch(writing: &mut Writing<'_>, ours: i64) -> Result<(), StoreError> {
    let current = sqlx::query_scalar("SELECT epoch FROM fence FOR SHARE");
    let current: i64 = current.fetch_one(&mut **writing).await.map_err(fault)?;
    if current == ours { Ok(()) } else { Err(StoreError::Fenced { ours, current }) }
}

pub(super) async fn create_log(
    writer: &Pool<Postgres>,
    epoch: i64,
    origin: &str,
) -> Result<(), StoreError> {
    let mut writing = begin(writer, epoch).await?;
    sqlx::query(
        "INSERT INTO logs (origin, size, root, rx_ms, epoch) VALUES ($1, 0, $2, 0, $3) \
         ON CONFLICT (origin) DO NOTHING",
    )
    .bind(origin)
    .bind(&ledger::merkle::empty_root().0[..])
    .bind(epoch)
    .execute(&mut *writing)
    .await
    .map_err(fault)?;
    writing.commit().await.map_err(fault)
}

/// The whole change in one statement, so that a commit is one round trip: the committed row moves
/// on if it is where the change began and the epoch is still ours, and every other part is joined to
/// the row moved, so that it is written with it or not at all. The row's lock makes a take-over wait.
/// Servers that stand by are told when it is committed (`told.rs`).
const COMMIT: &str = "
WITH moved AS (
    UPDATE logs SET size = $1, root = $2, rx_ms = $3, closing = $4
    WHERE log = $5 AND size = $6 AND root = $7 AND epoch = $8 AND closing IS NULL
    RETURNING log
), chained AS (
    INSERT INTO chains (chain, dev, watch)
    SELECT c.* FROM moved, unnest($9::bigint[], $10::bytea[], $11::text[]) c
), lined AS (
    INSERT INTO lines (place, chain, seq, id, rx_ms, rxe_ms, signature, bytes)
    SELECT l.* FROM moved, unnest($12::bigint[], $13::bigint[], $14::bigint[], $15::bytea[],
        $16::bigint[], $17::bigint[], $18::bytea[], $19::bytea[]) l
), hidden AS (
    INSERT INTO private_lines (place, bytes)
    SELECT p.* FROM moved, unnest($20::bigint[], $21::bytea[]) p
), tiled AS (
    INSERT INTO tiles (log, level, tile, hashes)
    SELECT moved.log, t.* FROM moved, unnest($22::bigint[], $23::bigint[], $24::bytea[]) t
    ON CONFLICT (log, level, tile) DO UPDATE SET hashes = excluded.hashes
), headed AS (
    INSERT INTO heads (log, size, root, note)
    SELECT moved.log, h.* FROM moved, unnest($25::bigint[], $26::bytea[], $27::text[]) h
    ON CONFLICT (log, size) DO UPDATE SET note = excluded.note
)
SELECT count(pg_notify('rattlewatch', '')::text) FROM moved";

pub(super) async fn commit(writer: &Pool<Postgres>, change: &Change) -> Result<(), StoreError> {
    if change.held.is_empty() && change.unheld.is_empty() && change.forks.is_empty() {
        let moved = move_on(writer, change).await?;
        return if moved { Ok(()) } else { Err(not_moved(writer, change).await) };
    }
    let mut writing = writer.begin().await.map_err(fault)?;
    if !move_on(&mut *writing, change).await? {
        drop(writing);
        return Err(not_moved(writer, change).await);
    }
    held(&mut writing, &change.held).await?;
    unheld(&mut writing, &change.unheld).await?;
    forks(&mut writing, &change.forks).await?;
    writing.commit().await.map_err(fault)
}

async fn move_on(on: impl PgExecutor<'_>, change: &Change) -> Result<bool, StoreError> {
    let Change { log, lines, tiles, chains, head, .. } = change;
    let with: Vec<&PlacedRow> = lines.iter().filter(|row| row.line.private.is_some()).collect();
    let moved = sqlx::query_scalar(COMMIT)
        .bind(change.after.0 as i64)
        .bind(&change.after.1.0[..])
        .bind(change.rx_ms)
        .bind(change.closing.as_deref())
        .bind(log)
        .bind(change.before.0 as i64)
        .bind(&change.before.1.0[..])
        .bind(change.epoch)
        .bind(chains.iter().map(|(chain, ..)| *chain).collect::<Vec<_>>())
        .bind(chains.iter().map(|(_, dev, _)| &dev.0.0[..]).collect::<Vec<_>>())
        .bind(chains.iter().map(|(.., watch)| watch.as_str()).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| place(*log, row.index)).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| row.line.chain).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| row.line.seq as i64).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| &row.line.id.0.0[..]).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| row.rx_ms).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| row.rxe_ms).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| &row.line.signature.0[..]).collect::<Vec<_>>())
        .bind(lines.iter().map(|row| &row.line.bytes[..]).collect::<Vec<_>>())
        .bind(with.iter().map(|row| place(*log, row.index)).collect::<Vec<_>>())
        .bind(with.iter().map(|row| row.line.private.as_deref()).collect::<Vec<_>>())
        .bind(tiles.iter().map(|row| i64::from(row.level)).collect::<Vec<_>>())
        .bind(tiles.iter().map(|row| row.tile as i64).collect::<Vec<_>>())
        .bind(tiles.iter().map(|row| bytes_of(&row.hashes)).collect::<Vec<_>>())
        .bind(head.iter().map(|row| row.size as i64).collect::<Vec<_>>())
        .bind(head.iter().map(|row| &row.root.0[..]).collect::<Vec<_>>())
        .bind(head.iter().map(|row| row.note.as_str()).collect::<Vec<_>>());
    let moved: i64 = moved.fetch_one(on).await.map_err(fault)?;
    Ok(moved == 1)
}

/// Why the committed row did not move: another epoch, or another head.
async fn not_moved(writer: &Pool<Postgres>, change: &Change) -> StoreError {
    let current = sqlx::query_scalar("SELECT epoch FROM fence").fetch_one(writer).await;
    match current.map_err(fault) {
        Err(error) => error,
        Ok(current) if current == change.epoch => {
            StoreError::HeadMoved { origin: change.origin.clone() }
        }
        Ok(current) => StoreError::Fenced { ours: change.epoch, current },
    }
}

async fn held(writing: &mut Writing<'_>, held: &[LineRow]) -> Result<(), StoreError> {
    if held.is_empty() {
        return Ok(());
    }
    sqlx::query(
        "INSERT INTO held (chain, seq, id, prev, signature, bytes, private) \
         SELECT * FROM unnest($1::bigint[], $2::bigint[], $3::bytea[], $4::bytea[], \
         $5::bytea[], $6::bytea[], $7::bytea[])",
    )
    .bind(held.iter().map(|line| line.chain).collect::<Vec<_>>())
    .bind(held.iter().map(|line| line.seq as i64).collect::<Vec<_>>())
    .bind(held.iter().map(|line| &line.id.0.0[..]).collect::<Vec<_>>())
    .bind(held.iter().map(|line| &line.prev.0.0[..]).collect::<Vec<_>>())
    .bind(held.iter().map(|line| &line.signature.0[..]).collect::<Vec<_>>())
    .bind(held.iter().map(|line| &line.bytes[..]).collect::<Vec<_>>())
    .bind(held.iter().map(|line| line.private.as_deref()).collect::<Vec<_>>())
    .execute(&mut **writing)
    .await
    .map_err(fault)?;
    Ok(())
}

async fn unheld(writing: &mut Writing<'_>, unheld: &[(i64, u64)]) -> Result<(), StoreError> {
    if unheld.is_empty() {
        return Ok(());
    }
    sqlx::query(
        "DELETE FROM held WHERE (chain, seq) IN \
         (SELECT * FROM unnest($1::bigint[], $2::bigint[]))",
    )
    .bind(unheld.iter().map(|(chain, _)| *chain).collect::<Vec<_>>())
    .bind(unheld.iter().map(|(_, seq)| *seq as i64).collect::<Vec<_>>())
    .execute(&mut **writing)
    .await
    .map_err(fault)?;
    Ok(())
}

async fn forks(writing: &mut Writing<'_>, forks: &[ForkRow]) -> Result<(), StoreError> {
    if forks.is_empty() {
        return Ok(());
    }
    sqlx::query(
        "INSERT INTO quarantine (id, chain, seq, other, rx_ms, signature, bytes, private) \
         SELECT * FROM unnest($1::bytea[], $2::bigint[], $3::bigint[], $4::bytea[], \
         $5::bigint[], $6::bytea[], $7::bytea[], $8::bytea[]) ON CONFLICT (id) DO NOTHING",
    )
    .bind(forks.iter().map(|fork| &fork.line.id.0.0[..]).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| fork.line.chain).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| fork.line.seq as i64).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| &fork.other.0.0[..]).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| fork.rx_ms).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| &fork.line.signature.0[..]).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| &fork.line.bytes[..]).collect::<Vec<_>>())
    .bind(forks.iter().map(|fork| fork.line.private.as_deref()).collect::<Vec<_>>())
    .execute(&mut **writing)
    .await
    .map_err(fault)?;
    Ok(())
}

pub(super) async fn keep_head(
    writer: &Pool<Postgres>,
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
        "INSERT INTO heads (log, size, root, note) VALUES ($1, $2, $3, $4) \
         ON CONFLICT (log, size) DO UPDATE SET note = excluded.note",
    )
    .bind(log)
    .bind(row.size as i64)
    .bind(&row.root.0[..])
    .bind(&row.note)
    .execute(&mut **writing)
    .await
    .map_err(fault)?;
    Ok(())
}

/// Replaces the bytes and frees the old row. What the server keeps outside its tables (archived
/// write-ahead log, base backups) ends with its own retention.
pub(super) async fn erase_private(
    writer: &Pool<Postgres>,
    epoch: i64,
    place: i64,
) -> Result<(), StoreError> {
    let mut writing = begin(writer, epoch).await?;
    sqlx::query("UPDATE private_lines SET bytes = NULL WHERE place = $1")
        .bind(place)
        .execute(&mut *writing)
        .await
        .map_err(fault)?;
    writing.commit().await.map_err(fault)?;
    sqlx::query("VACUUM private_lines").execute(writer).await.map_err(fault)?;
    Ok(())
}
