//! IndexedDB: every transaction strict, everything of it or nothing.

use crate::effects::base::{self, Asked, Mode, Transaction};
use crate::effects::{device, stamps};
use crate::engine::happen;
use js_sys::{Array, Uint8Array};
use phone::effect::Guard;
use phone::stored::{Name, Put, Stored, StoredTip};
use phone::{Digest, SaveFault, Ticket, What};
use serde::de::DeserializeOwned;
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{DomException, IdbDatabase};

const NAME: &str = "rattlewatch";

/// Forward only: a step more is a number more, and what an older program kept stays readable.
const VERSION: u32 = 1;

const DEVICE: &str = "device";
const NOTES: &str = "notes";
const LINES: &str = "lines";
const TIPS: &str = "tips";
const BLOBS: &str = "blobs";
const DOCUMENTS: &str = "documents";
const CONTENTS: &str = "contents";
const STORES: [&str; 7] = [DEVICE, NOTES, LINES, TIPS, BLOBS, DOCUMENTS, CONTENTS];

thread_local! {
    static OPEN: RefCell<Option<IdbDatabase>> = const { RefCell::new(None) };
}

/// Takes the pen of this browser, then reads. A tab that does not get it says so and writes nothing.
pub(crate) fn start() {
    spawn_local(async {
        if !device::take_pen().await {
            happen(What::OtherTab);
        }
        read().await;
        stamps::read();
    });
}

/// Reads everything again.
pub(crate) fn load() {
    spawn_local(read());
}

async fn read() {
    match read_all().await {
        Ok(stored) => happen(What::Loaded(Box::new(stored))),
        Err(error) => happen(What::LoadFailed { says: error.to_string() }),
    }
}

/// Why storage failed.
#[derive(Debug)]
pub(crate) enum Fault {
    Browser(JsValue),
    Moved,
}

impl From<JsValue> for Fault {
    fn from(error: JsValue) -> Fault {
        Fault::Browser(error)
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Fault::Browser(error) => match error.dyn_ref::<DomException>() {
                Some(error) => write!(f, "{}: {}", error.name(), error.message()),
                None => write!(f, "{error:?}"),
            },
            Fault::Moved => f.write_str("another tab wrote"),
        }
    }
}

impl From<Fault> for SaveFault {
    fn from(fault: Fault) -> SaveFault {
        let says = fault.to_string();
        match fault {
            Fault::Moved => SaveFault::Moved,
            _ if says.contains("Quota") => SaveFault::Full,
            _ => SaveFault::Broken { says },
        }
    }
}

/// The open database; opened anew if the browser lost it.
async fn database() -> Result<IdbDatabase, Fault> {
    if let Some(open) = OPEN.with_borrow(Clone::clone) {
        return Ok(open);
    }
    let database = base::open(NAME, VERSION, |old_version, database| {
        if old_version < 1.0 {
            for name in STORES {
                database.create_object_store(name)?;
            }
        }
        Ok(())
    });
    let database = database.await?;
    OPEN.with_borrow_mut(|open| *open = Some(database.clone()));
    Ok(database)
}

fn lost() {
    OPEN.with_borrow_mut(|open| *open = None);
}

async fn transaction(mode: Mode) -> Result<Transaction, Fault> {
    Ok(Transaction::begin(&database().await?, &STORES, mode)?)
}

/// All that is kept, asked for in one go: each question that is waited for costs a turn of the browser's loop.
async fn read_all() -> Result<Stored, Fault> {
    let transaction = transaction(Mode::Read).await?;
    let all = |store| Ok::<_, JsValue>(Asked::of(transaction.store(store)?.get_all()?));
    let device = Asked::of(transaction.store(DEVICE)?.get(&"device".into())?);
    let notes = transaction.store(NOTES)?;
    let notes = Name::ALL.map(|name| (name, notes.get(&name.key().into()).map(Asked::of)));
    let (lines, tips, blobs) = (all(LINES)?, all(TIPS)?, all(BLOBS)?);
    let documents = all(DOCUMENTS)?;
    let mut stored = Stored {
        device: crate::effects::key::public_of(&device.outcome().await?),
        ..Stored::default()
    };
    for (name, note) in notes {
        if let Some(json) = note?.outcome().await?.as_string() {
            stored.notes.insert(name.key().to_owned(), json);
        }
    }
    stored.lines = texts(&lines.outcome().await?);
    stored.tips = texts(&tips.outcome().await?);
    stored.blobs = texts(&blobs.outcome().await?);
    let documents = Array::from(&documents.outcome().await?);
    stored.documents = documents.iter().map(|bytes| Uint8Array::new(&bytes).to_vec()).collect();
    Ok(stored)
}

/// What cannot be read stays where it is: a newer program may know it.
fn texts<T: DeserializeOwned>(values: &JsValue) -> Vec<T> {
    let values = Array::from(values);
    values.iter().filter_map(|text| phone::parse(text.as_string()?).ok()).collect()
}

/// Keeps everything in one strict transaction, or nothing of it.
pub(crate) fn save(ticket: Ticket, guard: Option<Guard>, puts: Vec<Put>) {
    spawn_local(async move {
        let mut outcome = write(guard.as_ref(), &puts).await;
        if matches!(outcome, Err(Fault::Browser(_))) {
            // "Connection lost": once more with a new one, then say so.
            lost();
            outcome = write(guard.as_ref(), &puts).await;
        }
        happen(match outcome {
            Ok(()) => What::Saved { ticket },
            Err(fault) => What::SaveFailed { ticket, why: fault.into() },
        });
    });
}

/// Asked and written in one go: every question to the browser that is waited for costs a turn of its loop.
/// A transaction that is dropped before its commit keeps nothing.
async fn write(guard: Option<&Guard>, puts: &[Put]) -> Result<(), Fault> {
    let transaction = transaction(Mode::Write).await?;
    let tip = match guard {
        Some(guard) => {
            let key = tip_key(&guard.dev, &guard.watch);
            Some((guard, Asked::of(transaction.store(TIPS)?.get(&key.into())?)))
        }
        None => None,
    };
    for one in puts {
        put(&transaction, one)?;
    }
    if let Some((guard, tip)) = tip {
        let tip = tip.outcome().await?.as_string();
        let tip = tip.and_then(|tip| phone::parse::<StoredTip>(&tip).ok());
        let (count, last) = tip.map_or_else(Default::default, |tip| (tip.count, tip.last));
        if (count, last) != (guard.count, guard.last) {
            return Err(Fault::Moved);
        }
    }
    Ok(transaction.commit().await?)
}

fn put(transaction: &Transaction, put: &Put) -> Result<(), JsValue> {
    let keep = |store, key: String, value: JsValue| {
        transaction.store(store)?.put_with_key(&value, &key.into()).map(drop)
    };
    let forget = |store, key: &str| transaction.store(store)?.delete(&key.into()).map(drop);
    match put {
        Put::Line(line) => keep(LINES, line.id.to_string(), json(line)),
        Put::Tip(tip) => keep(TIPS, tip_key(&tip.dev, &tip.watch), json(tip)),
        Put::Blob(blob) => keep(BLOBS, blob.blob.to_string(), json(blob)),
        Put::Note { name, json: Some(json) } => {
            keep(NOTES, name.key().to_owned(), json.as_str().into())
        }
        Put::Note { name, json: None } => forget(NOTES, name.key()),
        Put::Document { blob, bytes } => {
            keep(DOCUMENTS, blob.to_string(), Uint8Array::from(bytes.as_slice()).into())
        }
        Put::ForgetBlob(blob) => {
            forget(BLOBS, &blob.to_string())?;
            forget(CONTENTS, &blob.to_string())
        }
        Put::ForgetLine(line) => forget(LINES, &line.to_string()),
    }
}

fn tip_key(dev: &impl std::fmt::Display, watch: &impl std::fmt::Display) -> String {
    format!("{dev} {watch}")
}

fn json(value: &impl serde::Serialize) -> JsValue {
    serde_json::to_string(value).expect("what is stored holds text and numbers").into()
}

/// Keeps the bytes of a photo or signature.
pub(crate) async fn keep_content(blob: &Digest, bytes: &[u8]) -> Result<(), Fault> {
    let transaction = transaction(Mode::Write).await?;
    let content = Uint8Array::from(bytes);
    transaction.store(CONTENTS)?.put_with_key(&content, &blob.to_string().into())?;
    Ok(transaction.commit().await?)
}

/// The bytes of a photo or signature.
pub(crate) async fn content(blob: &Digest) -> Result<Option<Vec<u8>>, Fault> {
    let found = one(CONTENTS, &blob.to_string()).await?;
    Ok(found.map(|content| Uint8Array::new(&content).to_vec()))
}

/// What a store holds under a key.
async fn one(store: &str, key: &str) -> Result<Option<JsValue>, Fault> {
    let transaction = transaction(Mode::Read).await?;
    let found = Asked::of(transaction.store(store)?.get(&key.into())?).outcome().await?;
    Ok(Some(found).filter(|found| !found.is_undefined()))
}

/// Keeps the device's key, closes the database, opens it again and gives the key back as it was read.
pub(crate) async fn keep_device(device: &JsValue) -> Result<JsValue, Fault> {
    let transaction = transaction(Mode::Write).await?;
    transaction.store(DEVICE)?.put_with_key(device, &"device".into())?;
    transaction.commit().await?;
    database().await?.close();
    lost();
    device_value().await.map(|device| device.unwrap_or(JsValue::UNDEFINED))
}

/// The device's key as it is kept.
pub(crate) async fn device_value() -> Result<Option<JsValue>, Fault> {
    one(DEVICE, "device").await
}
