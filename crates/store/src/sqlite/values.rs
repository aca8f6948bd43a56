//! Settings and derived values.

use super::append::begin;
use super::fault;
use crate::error::StoreError;
use crate::settings::{Expect, Setting, SettingKey, Written};
use sqlx::sqlite::SqliteRow;
use sqlx::{Pool, Row, Sqlite};

pub(super) async fn setting(
    pool: &Pool<Sqlite>,
    key: &SettingKey,
) -> Result<Option<Setting>, StoreError> {
    let row = sqlx::query(
        "SELECT collection, key, version, value FROM settings WHERE collection = ? AND key = ?",
    );
    let row = row.bind(&key.collection).bind(&key.key).fetch_optional(pool).await.map_err(fault)?;
    row.as_ref().map(read).transpose()
}

pub(super) async fn settings(
    pool: &Pool<Sqlite>,
    collection: &str,
    prefix: &str,
) -> Result<Vec<Setting>, StoreError> {
    let rows = sqlx::query(
        "SELECT collection, key, version, value FROM settings \
         WHERE collection = ?1 AND substr(key, 1, length(?2)) = ?2 ORDER BY key",
    );
    let rows = rows.bind(collection).bind(prefix).fetch_all(pool).await.map_err(fault)?;
    rows.iter().map(read).collect()
}

fn read(row: &SqliteRow) -> Result<Setting, StoreError> {
    let at = SettingKey { collection: row.get(0), key: row.get(1) };
    let value = serde_json::from_str(row.get(3)).map_err(|error| {
        StoreError::damaged(format!("setting {}/{}: {error}", at.collection, at.key))
    })?;
    Ok(Setting { at, version: row.get::<i64, _>(2) as u64, value })
}

pub(super) async fn write_setting(
    writer: &Pool<Sqlite>,
    epoch: i64,
    key: &SettingKey,
    value: Option<&str>,
    expect: Expect,
) -> Result<Written, StoreError> {
    let mut writing = begin(writer, epoch).await?;
    let found: Option<i64> =
        sqlx::query_scalar("SELECT version FROM settings WHERE collection = ? AND key = ?")
            .bind(&key.collection)
            .bind(&key.key)
            .fetch_optional(&mut *writing)
            .await
            .map_err(fault)?;
    let found = found.map(|version| version as u64);
    if !expect.allows(found) {
        return Ok(Written::Conflict { found });
    }
    let version = match value {
        Some(value) => {
            let version = found.unwrap_or(0) + 1;
            sqlx::query(
                "INSERT INTO settings (collection, key, version, value) VALUES (?, ?, ?, ?) \
                 ON CONFLICT (collection, key) \
                 DO UPDATE SET version = excluded.version, value = excluded.value",
            )
            .bind(&key.collection)
            .bind(&key.key)
            .bind(version as i64)
            .bind(value)
            .execute(&mut *writing)
            .await
            .map_err(fault)?;
            version
        }
        None => {
            sqlx::query("DELETE FROM settings WHERE collection = ? AND key = ?")
                .bind(&key.collection)
                .bind(&key.key)
                .execute(&mut *writing)
                .await
                .map_err(fault)?;
            0
        }
    };
    writing.commit().await.map_err(fault)?;
    Ok(Written::Kept { version })
}

/// Writes a setting of another store under the version that it has there.
pub(super) async fn copy_setting(
    writer: &Pool<Sqlite>,
    epoch: i64,
    setting: &Setting,
) -> Result<(), StoreError> {
    let mut writing = begin(writer, epoch).await?;
    sqlx::query("INSERT INTO settings (collection, key, version, value) VALUES (?, ?, ?, ?)")
        .bind(&setting.at.collection)
        .bind(&setting.at.key)
        .bind(setting.version as i64)
        .bind(setting.value.to_string())
        .execute(&mut *writing)
        .await
        .map_err(fault)?;
    writing.commit().await.map_err(fault)
}

pub(super) async fn collections(pool: &Pool<Sqlite>) -> Result<Vec<String>, StoreError> {
    let names = sqlx::query_scalar("SELECT DISTINCT collection FROM settings ORDER BY collection");
    names.fetch_all(pool).await.map_err(fault)
}

pub(super) async fn derived(
    pool: &Pool<Sqlite>,
    collection: &str,
    key: &str,
) -> Result<Option<Vec<u8>>, StoreError> {
    sqlx::query_scalar("SELECT value FROM derived_values WHERE collection = ? AND key = ?")
        .bind(collection)
        .bind(key)
        .fetch_optional(pool)
        .await
        .map_err(fault)
}

pub(super) async fn write_derived(
    writer: &Pool<Sqlite>,
    collection: &str,
    key: &str,
    value: &[u8],
) -> Result<(), StoreError> {
    sqlx::query(
        "INSERT INTO derived_values (collection, key, value) VALUES (?, ?, ?) \
         ON CONFLICT (collection, key) DO UPDATE SET value = excluded.value",
    )
    .bind(collection)
    .bind(key)
    .bind(value)
    .execute(writer)
    .await
    .map_err(fault)?;
    Ok(())
}

pub(super) async fn drop_derived(writer: &Pool<Sqlite>) -> Result<(), StoreError> {
    sqlx::query("DELETE FROM derived_values").execute(writer).await.map_err(fault)?;
    Ok(())
}
