//! IndexedDB: every transaction strict, everything of it or nothing.

use crate::effects::{device, stamps};
use crate::engine::happen;
use indexed_db_futures::database::Database;
use indexed_db_futures::error::{DomException, Error, OpenDbError};
use indexed_db_futures::prelude::*;
use indexed_db_futures::transaction::{TransactionDurability, TransactionMode, TransactionOptions};
use js_sys::Uint8Array;
use phone::effect::Guard;
use phone::stored::{Name, Put, Stored, StoredTip};
use phone::{Digest, SaveFault, Ticket, What};
use serde::de::DeserializeOwned;
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;

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
    static OPEN: RefCell<Option<Database>> = const { RefCell::new(None) };
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
    Open(OpenDbError),
    Work(Error),
    Moved,
}

impl From<OpenDbError> for Fault {
    fn from(error: OpenDbError) -> Fault {
        Fault::Open(error)
    }
}

impl From<Error> for Fault {
    fn from(error: Error) -> Fault {
        Fault::Work(error)
    }
}

impl From<DomException> for Fault {
    fn from(error: DomException) -> Fault {
        Fault::Work(error.into())
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Fault::Open(error) => write!(f, "{error}"),
            Fault::Work(error) => write!(f, "{error}"),
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
async fn database() -> Result<Database, Fault> {
    if let Some(open) = OPEN.with_borrow(Clone::clone) {
        return Ok(open);
    }
    let database = Database::open(NAME)
        .with_version(VERSION)
        .with_on_upgrade_needed(|event, database| {
            if event.old_version() < 1.0 {
                for name in STORES {
                    database.create_object_store(name).build()?;
                }
            }
            Ok(())
        })
        .await?;
    OPEN.with_borrow_mut(|open| *open = Some(database.clone()));
    Ok(database)
}

fn lost() {
    OPEN.with_borrow_mut(|open| *open = None);
}

fn transaction<'a>(
    database: &'a Database,
    mode: TransactionMode,
) -> Result<indexed_db_futures::transaction::Transaction<'a>, Fault> {
    let mut options = TransactionOptions::new();
    options.set_durability(TransactionDurability::Strict);
    Ok(database.transaction(STORES).with_mode(mode).with_options(options).build()?)
}

async fn read_all() -> Result<Stored, Fault> {
    let database = database().await?;
    let transaction = transaction(&database, TransactionMode::Readonly)?;
    let mut stored = Stored::default();
    let device: Option<JsValue> =
        transaction.object_store(DEVICE)?.get("device").primitive()?.await?;
    stored.device = device.as_ref().and_then(crate::effects::key::public_of);
    let notes = transaction.object_store(NOTES)?;
    for name in Name::ALL {
        if let Some(json) = notes.get::<String, _, _>(name.key()).primitive()?.await? {
            stored.notes.insert(name.key().to_owned(), json);
        }
    }
    stored.lines = all(&transaction, LINES).await?;
    stored.tips = all(&transaction, TIPS).await?;
    stored.blobs = all(&transaction, BLOBS).await?;
    let documents = transaction.object_store(DOCUMENTS)?.get_all::<JsValue>().primitive()?.await?;
    for document in documents {
        stored.documents.push(Uint8Array::new(&document?).to_vec());
    }
    Ok(stored)
}

async fn all<T: DeserializeOwned>(
    transaction: &indexed_db_futures::transaction::Transaction<'_>,
    store: &str,
) -> Result<Vec<T>, Fault> {
    let values = transaction.object_store(store)?.get_all::<String>().primitive()?.await?;
    let mut read = Vec::new();
    for value in values {
        // What cannot be read stays where it is: a newer program may know it.
        if let Ok(value) = phone::parse(value?) {
            read.push(value);
        }
    }
    Ok(read)
}

/// Keeps everything in one strict transaction, or nothing of it.
pub(crate) fn save(ticket: Ticket, guard: Option<Guard>, puts: Vec<Put>) {
    spawn_local(async move {
        let mut outcome = write(guard.as_ref(), &puts).await;
        if matches!(outcome, Err(Fault::Open(_) | Fault::Work(_))) {
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
    let database = database().await?;
    let transaction = transaction(&database, TransactionMode::Readwrite)?;
    let tip = match guard {
        Some(guard) => {
            let key = tip_key(&guard.dev, &guard.watch);
            let tips = transaction.object_store(TIPS)?;
            Some((guard, tips.get::<String, _, _>(key.as_str()).primitive()?))
        }
        None => None,
    };
    put(&transaction, puts)?;
    if let Some((guard, tip)) = tip {
        let tip = tip.await?.and_then(|tip| phone::parse::<StoredTip>(&tip).ok());
        let (count, last) = tip.map_or_else(Default::default, |tip| (tip.count, tip.last));
        if (count, last) != (guard.count, guard.last) {
            return Err(Fault::Moved);
        }
    }
    transaction.commit().await?;
    Ok(())
}

fn put(
    transaction: &indexed_db_futures::transaction::Transaction<'_>,
    puts: &[Put],
) -> Result<(), Fault> {
    for put in puts {
        match put {
            Put::Line(line) => keep(transaction, LINES, &line.id.to_string(), line)?,
            Put::Tip(tip) => keep(transaction, TIPS, &tip_key(&tip.dev, &tip.watch), tip)?,
            Put::Blob(blob) => keep(transaction, BLOBS, &blob.blob.to_string(), blob)?,
            Put::Note { name, json: Some(json) } => {
                transaction
                    .object_store(NOTES)?
                    .put(json.as_str())
                    .with_key(name.key())
                    .primitive()?;
            }
            Put::Note { name, json: None } => {
                transaction.object_store(NOTES)?.delete(name.key()).primitive()?;
            }
            Put::Document { blob, bytes } => {
                let content = JsValue::from(Uint8Array::from(bytes.as_slice()));
                let key = blob.to_string();
                transaction.object_store(DOCUMENTS)?.put(content).with_key(key).primitive()?;
            }
            Put::ForgetBlob(blob) => {
                let key = blob.to_string();
                transaction.object_store(BLOBS)?.delete(key.as_str()).primitive()?;
                transaction.object_store(CONTENTS)?.delete(key.as_str()).primitive()?;
            }
            Put::ForgetLine(line) => {
                let key = line.to_string();
                transaction.object_store(LINES)?.delete(key.as_str()).primitive()?;
            }
        }
    }
    Ok(())
}

fn tip_key(dev: &impl std::fmt::Display, watch: &impl std::fmt::Display) -> String {
    format!("{dev} {watch}")
}

fn keep(
    transaction: &indexed_db_futures::transaction::Transaction<'_>,
    store: &str,
    key: &str,
    value: &impl serde::Serialize,
) -> Result<(), Fault> {
    let json = serde_json::to_string(value).expect("what is stored holds text and numbers");
    transaction.object_store(store)?.put(json).with_key(key.to_owned()).primitive()?;
    Ok(())
}

/// Keeps the bytes of a photo or signature.
pub(crate) async fn keep_content(blob: &Digest, bytes: &[u8]) -> Result<(), Fault> {
    let database = database().await?;
    let transaction = transaction(&database, TransactionMode::Readwrite)?;
    let content = JsValue::from(Uint8Array::from(bytes));
    transaction.object_store(CONTENTS)?.put(content).with_key(blob.to_string()).primitive()?;
    transaction.commit().await?;
    Ok(())
}

/// The bytes of a photo or signature.
pub(crate) async fn content(blob: &Digest) -> Result<Option<Vec<u8>>, Fault> {
    let database = database().await?;
    let transaction = transaction(&database, TransactionMode::Readonly)?;
    let key = blob.to_string();
    let content: Option<JsValue> =
        transaction.object_store(CONTENTS)?.get(key.as_str()).primitive()?.await?;
    Ok(content.map(|content| Uint8Array::new(&content).to_vec()))
}

/// Keeps the device's key, closes the database, opens it again and gives the key back as it was read.
pub(crate) async fn keep_device(device: &JsValue) -> Result<JsValue, Fault> {
    {
        let database = database().await?;
        let transaction = transaction(&database, TransactionMode::Readwrite)?;
        transaction
            .object_store(DEVICE)?
            .put(device.clone())
            .with_key("device")
            .primitive()?
            .await?;
        transaction.commit().await?;
        database.close();
    }
    lost();
    device_value().await.map(|device| device.unwrap_or(JsValue::UNDEFINED))
}

/// The device's key as it is kept.
pub(crate) async fn device_value() -> Result<Option<JsValue>, Fault> {
    let database = database().await?;
    let transaction = transaction(&database, TransactionMode::Readonly)?;
    Ok(transaction.object_store(DEVICE)?.get("device").primitive()?.await?)
}
