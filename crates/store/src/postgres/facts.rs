//! What the writer must know before it decides.

use super::{fault, log_and_index};
use crate::backend::{ChainRow, LineRow, LogRow, Standing};
use crate::columns::{digest, line_id, name, signature, watch};
use crate::error::StoreError;
use ledger::{DeviceId, LineId, WatchId};
use sqlx::postgres::PgRow;
use sqlx::{Pool, Postgres, Row};

pub(super) async fn take_over(writer: &Pool<Postgres>) -> Result<i64, StoreError> {
    let mut writing = writer.begin().await.map_err(fault)?;
    let epoch: i64 = sqlx::query_scalar("UPDATE fence SET epoch = epoch + 1 RETURNING epoch")
        .fetch_one(&mut *writing)
        .await
        .map_err(fault)?;
    let logs = sqlx::query("UPDATE logs SET epoch = $1").bind(epoch);
    logs.execute(&mut *writing).await.map_err(fault)?;
    writing.commit().await.map_err(fault)?;
    Ok(epoch)
}

pub(super) async fn logs(pool: &Pool<Postgres>) -> Result<Vec<LogRow>, StoreError> {
    let rows =
        sqlx::query("SELECT log, origin, size, root, rx_ms, epoch, closing FROM logs ORDER BY log")
            .fetch_all(pool)
            .await
            .map_err(fault)?;
    let log = |row: PgRow| {
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

pub(super) async fn last_chain(pool: &Pool<Postgres>) -> Result<i64, StoreError> {
    let last = sqlx::query_scalar("SELECT coalesce(max(chain), 0) FROM chains");
    last.fetch_one(pool).await.map_err(fault)
}

pub(super) async fn chains(
    pool: &Pool<Postgres>,
    of: &[(DeviceId, WatchId)],
) -> Result<Vec<ChainRow>, StoreError> {
    let rows = sqlx::query(
        "SELECT c.chain, c.dev, c.watch, l.seq, l.id, \
         EXISTS (SELECT 1 FROM held h WHERE h.chain = c.chain) \
         FROM chains c LEFT JOIN LATERAL \
         (SELECT m.seq, m.id FROM lines m WHERE m.chain = c.chain ORDER BY m.seq DESC LIMIT 1) l \
         ON true \
         WHERE (c.watch, c.dev) IN (SELECT * FROM unnest($1::text[], $2::bytea[]))",
    )
    .bind(of.iter().map(|(_, watch)| watch.as_str()).collect::<Vec<_>>())
    .bind(of.iter().map(|(dev, _)| &dev.0.0[..]).collect::<Vec<_>>())
    .fetch_all(pool)
    .await
    .map_err(fault)?;
    let chain = |row: &PgRow| {
        let last: Option<&[u8]> = row.get(4);
        Ok(ChainRow {
            chain: row.get(0),
            dev: DeviceId(digest(row.get(1))?),
            watch: watch(row.get(2))?,
            next: row.get::<Option<i64>, _>(3).map_or(0, |seq| seq as u64 + 1),
            last: last.map_or(Ok(LineId::default()), line_id)?,
            holds: row.get(5),
        })
    };
    rows.iter().map(chain).collect()
}

pub(super) async fn held(
    pool: &Pool<Postgres>,
    chains: &[i64],
) -> Result<Vec<LineRow>, StoreError> {
    let rows = sqlx::query(
        "SELECT chain, seq, id, prev, signature, bytes, private FROM held WHERE chain = ANY($1)",
    );
    let rows = rows.bind(chains).fetch_all(pool).await.map_err(fault)?;
    let held = |row: &PgRow| {
        Ok(LineRow {
            chain: row.get(0),
            seq: row.get::<i64, _>(1) as u64,
            id: line_id(row.get(2))?,
            prev: line_id(row.get(3))?,
            signature: signature(row.get(4))?,
            bytes: row.get(5),
            private: row.get(6),
        })
    };
    rows.iter().map(held).collect()
}

pub(super) async fn quarantined(pool: &Pool<Postgres>, chain: i64) -> Result<u64, StoreError> {
    let count = sqlx::query("SELECT COUNT(*) FROM quarantine WHERE chain = $1").bind(chain);
    let row = count.fetch_one(pool).await.map_err(fault)?;
    Ok(row.get::<i64, _>(0) as u64)
}

pub(super) async fn standing(
    pool: &Pool<Postgres>,
    at: &[(i64, u64)],
) -> Result<Vec<Standing>, StoreError> {
    let rows = sqlx::query(
        "SELECT chain, seq, id, place, rx_ms, rxe_ms FROM lines \
         WHERE (chain, seq) IN (SELECT * FROM unnest($1::bigint[], $2::bigint[]))",
    )
    .bind(at.iter().map(|(chain, _)| *chain).collect::<Vec<_>>())
    .bind(at.iter().map(|(_, seq)| *seq as i64).collect::<Vec<_>>())
    .fetch_all(pool)
    .await
    .map_err(fault)?;
    let standing = |row: &PgRow| {
        let (log, index) = log_and_index(row.get(3));
        Ok(Standing {
            chain: row.get(0),
            seq: row.get::<i64, _>(1) as u64,
            id: line_id(row.get(2))?,
            log,
            index,
            rx_ms: row.get(4),
            rxe_ms: row.get(5),
        })
    };
    rows.iter().map(standing).collect()
}
