//! What is kept of the record, for readers.

use super::{fault, log_and_index, place};
use crate::backend::{HeadRow, Select};
use crate::columns::{digest, digests, line_id, name, signature, watch};
use crate::error::StoreError;
use crate::outcome::{Place, Quarantined, ReceivedAt, StoredLine};
use ledger::{DeviceId, Digest, SignedLine, WatchId};
use sqlx::sqlite::SqliteRow;
use sqlx::{Pool, QueryBuilder, Row, Sqlite};

const LINES: &str = "SELECT l.place, o.origin, l.rx_ms, l.rxe_ms, l.id, c.dev, c.watch, l.seq, \
     l.signature, l.bytes FROM lines l JOIN chains c ON c.chain = l.chain \
     JOIN logs o ON o.log = l.place >> 40 WHERE ";

pub(super) async fn lines(
    pool: &Pool<Sqlite>,
    select: &Select,
    limit: u32,
) -> Result<Vec<StoredLine>, StoreError> {
    let mut query = QueryBuilder::new(LINES);
    match select {
        Select::Range { log, indexes } => {
            query.push("l.place >= ").push_bind(place(*log, indexes.start));
            query.push(" AND l.place < ").push_bind(place(*log, indexes.end));
            query.push(" ORDER BY l.place");
        }
        Select::Watch { watch, after } => {
            let after = after.map_or(-1, |(log, index)| place(log, index));
            query.push("c.watch = ").push_bind(watch.as_str().to_owned());
            query.push(" AND l.place > ").push_bind(after);
            query.push(" ORDER BY l.place");
        }
        Select::Chain { dev, watch, from_seq } => {
            query.push("c.watch = ").push_bind(watch.as_str().to_owned());
            query.push(" AND c.dev = ").push_bind(dev.0.0.to_vec());
            query.push(" AND l.seq >= ").push_bind(*from_seq as i64);
            query.push(" ORDER BY l.seq");
        }
    }
    query.push(" LIMIT ").push_bind(i64::from(limit));
    let rows = query.build().fetch_all(pool).await.map_err(fault)?;
    rows.iter().map(stored_line).collect()
}

fn stored_line(row: &SqliteRow) -> Result<StoredLine, StoreError> {
    Ok(StoredLine {
        place: Place {
            origin: name(row.get(1)),
            index: log_and_index(row.get(0)).1,
            rx: ReceivedAt { ms: row.get(2), error_ms: row.get(3) },
        },
        id: line_id(row.get(4))?,
        dev: DeviceId(digest(row.get(5))?),
        watch: watch(row.get(6))?,
        seq: row.get::<i64, _>(7) as u64,
        signed: SignedLine { signature: signature(row.get(8))?, bytes: row.get(9) },
    })
}

pub(super) async fn private(
    pool: &Pool<Sqlite>,
    place: i64,
) -> Result<Option<Option<Vec<u8>>>, StoreError> {
    sqlx::query_scalar("SELECT bytes FROM private_lines WHERE place = ?")
        .bind(place)
        .fetch_optional(pool)
        .await
        .map_err(fault)
}

pub(super) async fn tile(
    pool: &Pool<Sqlite>,
    log: i64,
    level: u8,
    tile: u64,
) -> Result<Option<Vec<Digest>>, StoreError> {
    let row: Option<Vec<u8>> =
        sqlx::query_scalar("SELECT hashes FROM tiles WHERE log = ? AND level = ? AND tile = ?")
            .bind(log)
            .bind(i64::from(level))
            .bind(tile as i64)
            .fetch_optional(pool)
            .await
            .map_err(fault)?;
    row.map(|bytes| digests(&bytes)).transpose()
}

pub(super) async fn all_held(
    pool: &Pool<Sqlite>,
) -> Result<Vec<(DeviceId, WatchId, u64)>, StoreError> {
    let rows = sqlx::query(
        "SELECT c.dev, c.watch, h.seq FROM held h JOIN chains c ON c.chain = h.chain \
         ORDER BY c.dev, c.watch, h.seq",
    );
    let rows = rows.fetch_all(pool).await.map_err(fault)?;
    let held = |row: &SqliteRow| {
        Ok((DeviceId(digest(row.get(0))?), watch(row.get(1))?, row.get::<i64, _>(2) as u64))
    };
    rows.iter().map(held).collect()
}

pub(super) async fn quarantine(
    pool: &Pool<Sqlite>,
    limit: u32,
) -> Result<Vec<Quarantined>, StoreError> {
    let rows = sqlx::query(
        "SELECT q.id, c.dev, c.watch, q.seq, q.other, q.rx_ms, q.signature, q.bytes, q.private \
         FROM quarantine q JOIN chains c ON c.chain = q.chain ORDER BY q.rx_ms, q.id LIMIT ?",
    );
    let rows = rows.bind(i64::from(limit)).fetch_all(pool).await.map_err(fault)?;
    let quarantined = |row: &SqliteRow| {
        Ok(Quarantined {
            id: line_id(row.get(0))?,
            dev: DeviceId(digest(row.get(1))?),
            watch: watch(row.get(2))?,
            seq: row.get::<i64, _>(3) as u64,
            other: line_id(row.get(4))?,
            rx_ms: row.get(5),
            signed: SignedLine { signature: signature(row.get(6))?, bytes: row.get(7) },
            private: row.get(8),
        })
    };
    rows.iter().map(quarantined).collect()
}

pub(super) async fn head(
    pool: &Pool<Sqlite>,
    log: i64,
    at_most: u64,
) -> Result<Option<HeadRow>, StoreError> {
    let row = sqlx::query(
        "SELECT size, root, note FROM heads WHERE log = ? AND size <= ? ORDER BY size DESC LIMIT 1",
    );
    let row = row.bind(log).bind(at_most as i64).fetch_optional(pool).await.map_err(fault)?;
    let head = |row: SqliteRow| {
        let (size, root) = (row.get::<i64, _>(0) as u64, digest(row.get(1))?);
        Ok(HeadRow { size, root, note: row.get(2) })
    };
    row.map(head).transpose()
}

pub(super) async fn self_check(pool: &Pool<Sqlite>) -> Result<Vec<String>, StoreError> {
    let says = sqlx::query_scalar("PRAGMA integrity_check");
    let says: Vec<String> = says.fetch_all(pool).await.map_err(fault)?;
    Ok(if says == ["ok"] { Vec::new() } else { says })
}
