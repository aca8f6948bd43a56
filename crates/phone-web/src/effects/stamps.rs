//! What the card stamped, kept by `static/card.js` in a small database of its own.

use crate::engine::happen;
use indexed_db_futures::KeyRange;
use indexed_db_futures::database::Database;
use indexed_db_futures::prelude::*;
use indexed_db_futures::transaction::TransactionMode;
use phone::{CardStamp, What};
use wasm_bindgen_futures::spawn_local;

const NAME: &str = "rattlewatch-card";
const STAMPS: &str = "stamps";

/// Looks for stamps and hands them in.
pub(crate) fn read() {
    spawn_local(async {
        // No database, no stamps; the card itself says when it could not keep one.
        if let Ok(stamps) = all().await
            && !stamps.is_empty()
        {
            happen(What::Stamps(stamps));
        }
    });
}

async fn all() -> Result<Vec<CardStamp>, Box<dyn std::error::Error>> {
    let database = open().await?;
    let transaction = database.transaction(STAMPS).build()?;
    let values = transaction.object_store(STAMPS)?.get_all::<String>().primitive()?.await?;
    let keys = transaction.object_store(STAMPS)?.get_all_keys::<f64>().primitive()?.await?;
    let mut stamps = Vec::new();
    for (value, key) in values.zip(keys) {
        if let Ok(mut stamp) = phone::parse::<CardStamp>(value?) {
            stamp.n = key? as u64;
            stamps.push(stamp);
        }
    }
    drop(transaction);
    database.close();
    Ok(stamps)
}

async fn open() -> Result<Database, indexed_db_futures::error::OpenDbError> {
    Database::open(NAME)
        .with_version(1u8)
        .with_on_upgrade_needed(|_, database| {
            database.create_object_store(STAMPS).with_auto_increment(true).build()?;
            Ok(())
        })
        .await
}

/// Forgets the stamps that are lines now.
pub(crate) fn forget(upto: u64) {
    spawn_local(async move {
        // A stamp that stays is handed in again and then known by its number.
        let _ = delete(upto).await;
    });
}

async fn delete(upto: u64) -> Result<(), Box<dyn std::error::Error>> {
    let database = open().await?;
    let transaction = database.transaction(STAMPS).with_mode(TransactionMode::Readwrite).build()?;
    let range = KeyRange::UpperBound(upto as f64, false);
    transaction.object_store(STAMPS)?.delete::<f64, _>(range).primitive()?.await?;
    transaction.commit().await?;
    database.close();
    Ok(())
}
