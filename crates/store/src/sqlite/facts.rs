//! What the writer must know before it decides.

use super::{fault, log_and_index};
use crate::backend::{ChainRow, LineRow, LogRow, Standing};
use crate::columns::{digest, line_id, name, signature, watch};
use crate::error::StoreError;
use ledger::{DeviceId, LineId, WatchId};
use sqlx::{Pool, QueryBuilder, Row, Sqlite};

/// Tuples in one statement; SQLite allows 32,766 parameters.
const AT_A_TIME: usize = 1_000;

pub(super) async fn take_over(writer: &Pool<Sqlite>) -> Result<i64, StoreError> {
    let mut writing = writer.begin_with("BEGIN IMMEDIATE").await.map_err(fault)?;
    let epoch: i64 = sqlx::query_scalar("UPDATE fence SET epoch = epoch + 1 RETURNING epoch")
        .fetch_one(&mut *writing)
        .await
        .map_err(fault)?;
    let logs = sqlx::query("UPDATE logs SET epoch = ?").bind(epoch);
    logs.execute(&mut *writing).await.map_err(fault)?;
    writing.commit().await.map_err(fault)?;
    Ok(epoch)
}

pub(super) async fn logs(pool: &Pool<Sqlite>) -> Result<Vec<LogRow>, StoreError> {
    let rows =
        sqlx::query("SELECT log, origin, size, root, rx_ms, epoch, closing FROM logs ORDER BY log")
            .fetch_all(pool)
            .await
            .map_err(fault)?;
    let log = |row: sqlx::sqlite::SqliteRow| {
        Ok(LogRow {
            log: row.get(0),
            origin: name(row.get(1)),
            size: row.get::<i64, _>(2) as u64,
            root: digest(row.get(3))?,
            rx_ms: row.get(4),
            epoch: row.get(5),
            closing: row.get(6),
        })
    };
    rows.into_iter().map(log).collect()
}

pub(super) async fn last_chain(pool: &Pool<Sqlite>) -> Result<i64, StoreError> {
    let last = sqlx::query_scalar("SELECT coalesce(max(chain), 0) FROM chains");
    last.fetch_one(pool).await.map_err(fault)
}

pub(super) async fn chains(
    pool: &Pool<Sqlite>,
    of: &[(DeviceId, WatchId)],
) -> Result<Vec<ChainRow>, StoreError> {
    let mut found = Vec::new();
    for part in of.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new(
            "SELECT c.chain, c.dev, c.watch, l.seq, l.id, \
             EXISTS (SELECT 1 FROM held h WHERE h.chain = c.chain) \
             FROM chains c LEFT JOIN lines l ON l.chain = c.chain \
             AND l.seq = (SELECT max(m.seq) FROM lines m WHERE m.chain = c.chain) \
             WHERE (c.watch, c.dev) IN ",
        );
        query.push("(");
        query.push_values(part, |mut tuple, (dev, watch)| {
            tuple.push_bind(watch.as_str().to_owned()).push_bind(dev.0.0.to_vec());
        });
        query.push(")");
        for row in query.build().fetch_all(pool).await.map_err(fault)? {
            let last: Option<&[u8]> = row.get(4);
            found.push(ChainRow {
                chain: row.get(0),
                dev: DeviceId(digest(row.get(1))?),
                watch: watch(row.get(2))?,
                next: row.get::<Option<i64>, _>(3).map_or(0, |seq| seq as u64 + 1),
                last: last.map_or(Ok(LineId::default()), line_id)?,
                holds: row.get(5),
            });
        }
    }
    Ok(found)
}

pub(super) async fn held(pool: &Pool<Sqlite>, chains: &[i64]) -> Result<Vec<LineRow>, StoreError> {
    let mut found = Vec::new();
    for part in chains.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new(
            "SELECT chain, seq, id, prev, signature, bytes, private FROM held WHERE chain IN (",
        );
        let mut list = query.separated(", ");
        part.iter().for_each(|chain| {
            list.push_bind(*chain);
        });
        query.push(")");
        for row in query.build().fetch_all(pool).await.map_err(fault)? {
            found.push(LineRow {
                chain: row.get(0),
                seq: row.get::<i64, _>(1) as u64,
                id: line_id(row.get(2))?,
                prev: line_id(row.get(3))?,
                signature: signature(row.get(4))?,
                bytes: row.get(5),
                private: row.get(6),
            });
        }
    }
    Ok(found)
}

pub(super) async fn quarantined(pool: &Pool<Sqlite>, chain: i64) -> Result<u64, StoreError> {
    let count = sqlx::query("SELECT COUNT(*) FROM quarantine WHERE chain = ?").bind(chain);
    let row = count.fetch_one(pool).await.map_err(fault)?;
    Ok(row.get::<i64, _>(0) as u64)
}

pub(super) async fn standing(
    pool: &Pool<Sqlite>,
    at: &[(i64, u64)],
) -> Result<Vec<Standing>, StoreError> {
    let mut found = Vec::new();
    for part in at.chunks(AT_A_TIME) {
        let mut query = QueryBuilder::new(
            "SELECT chain, seq, id, place, rx_ms, rxe_ms FROM lines WHERE (chain, seq) IN (",
        );
        query.push_values(part, |mut tuple, (chain, seq)| {
            tuple.push_bind(*chain).push_bind(*seq as i64);
        });
        query.push(")");
        for row in query.build().fetch_all(pool).await.map_err(fault)? {
            let (log, index) = log_and_index(row.get(3));
            found.push(Standing {
                chain: row.get(0),
                seq: row.get::<i64, _>(1) as u64,
                id: line_id(row.get(2))?,
                log,
                index,
                rx_ms: row.get(4),
                rxe_ms: row.get(5),
            });
        }
    }
    Ok(found)
}
