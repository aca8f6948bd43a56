//! What the card stamped, kept by `static/card.js` in a small database of its own.

use crate::effects::base::{self, Asked, Mode, Transaction};
use crate::engine::happen;
use js_sys::Array;
use phone::{CardStamp, What};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{IdbDatabase, IdbKeyRange, IdbObjectStoreParameters};

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

async fn all() -> Result<Vec<CardStamp>, JsValue> {
    let database = open().await?;
    let transaction = Transaction::begin(&database, &[STAMPS], Mode::Read)?;
    let store = transaction.store(STAMPS)?;
    let (values, keys) = (Asked::of(store.get_all()?), Asked::of(store.get_all_keys()?));
    let (values, keys) = (values.outcome().await?, keys.outcome().await?);
    database.close();
    let (values, keys) = (Array::from(&values), Array::from(&keys));
    let stamps = values.iter().zip(keys.iter()).filter_map(|(value, key)| {
        let mut stamp: CardStamp = phone::parse(value.as_string()?).ok()?;
        stamp.n = key.as_f64()? as u64;
        Some(stamp)
    });
    Ok(stamps.collect())
}

async fn open() -> Result<IdbDatabase, JsValue> {
    let numbered = |_, database: &IdbDatabase| {
        let numbers = IdbObjectStoreParameters::new();
        numbers.set_auto_increment(true);
        database.create_object_store_with_optional_parameters(STAMPS, &numbers).map(drop)
    };
    base::open(NAME, 1, numbered).await
}

/// Forgets the stamps that are lines now.
pub(crate) fn forget(upto: u64) {
    spawn_local(async move {
        // A stamp that stays is handed in again and then known by its number.
        let _ = delete(upto).await;
    });
}

async fn delete(upto: u64) -> Result<(), JsValue> {
    let database = open().await?;
    let transaction = Transaction::begin(&database, &[STAMPS], Mode::Write)?;
    let range = IdbKeyRange::upper_bound(&(upto as f64).into())?;
    transaction.store(STAMPS)?.delete(&range)?;
    transaction.commit().await?;
    database.close();
    Ok(())
}
