//! Lines on their way in: appended by the store, then folded into the book.

use crate::book::{Documents, Known};
use crate::problem::Problem;
use crate::server::App;
use crate::settings::{DEVICES, Kept};
use crate::succession;
use ledger::{DeviceId, Digest, Line, PublicKey, Verified, WatchId};
use record::documents::Document;
use record::{Entry, Role, Words};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use store::{Appended, Incoming, Outcome, Place, PrivateLine, StoreError, StoredLine};
use watch::{Held, Sealing};

/// After lines could not be read it is tried again, ms.
const AGAIN_MS: i64 = 1_000;

/// In place of when it is tried again, while it is.
const BEING_READ: i64 = i64::MAX;

/// Stored lines read at a time.
const PAGE: u32 = 2_000;

/// What a device may see, as the settings keep it. Its key and person stand in the record.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Grant {
    /// None: all watches of the house.
    pub(crate) watches: Option<BTreeSet<WatchId>>,
}

impl Kept for Grant {
    const COLLECTION: &'static str = DEVICES;
}

/// Appends verified lines and folds what the log took. Returns after all of it is durable.
pub(crate) async fn take_in(app: &App, lines: Vec<Incoming>) -> Result<Appended, Problem> {
    let watches: BTreeSet<WatchId> = lines.iter().map(|sent| sent.line.watch.clone()).collect();
    let appended = match append(app, &lines).await {
        Ok(appended) => appended,
        Err(problem) => {
            if let Problem::Store(StoreError::Unknown { .. }) = problem {
                fall_behind(app, watches);
            }
            return Err(problem);
        }
    };
    let folded = fold_appended(app, lines, &appended).await;
    if folded.is_err() {
        fall_behind(app, watches);
    }
    folded.map(|()| appended)
}

async fn fold_appended(
    app: &App,
    lines: Vec<Incoming>,
    appended: &Appended,
) -> Result<(), Problem> {
    // They are in the log: what goes wrong with one keeps no other out of the book.
    let mut folded = Ok(());
    for (incoming, outcome) in lines.into_iter().zip(&appended.outcomes) {
        if let Outcome::Received(place) = outcome {
            folded = folded.and(fold(app, incoming.line, incoming.private, place).await);
        }
    }
    for place in &appended.released {
        let at = place.index..place.index + 1;
        for stored in app.store.lines(&place.origin, at, 1).await? {
            folded = folded.and(fold_stored(app, stored).await);
        }
    }
    folded
}

/// The log has, or may have, lines of these watches that are not in the book. They are read from the store before
/// anything is decided by what the book says, and soon: a line that is sent again is none that is folded again.
fn fall_behind(app: &App, watches: BTreeSet<WatchId>) {
    let now_ms = app.clock.now_ms();
    let mut book = app.book_mut();
    for watch in watches.into_iter().filter(|watch| !watch.is_org()) {
        book.plan_look(&watch, now_ms);
        book.behind.insert(watch, now_ms);
    }
}

/// Reads again what the book may lack. What still cannot be read stays behind and is tried again later. Only the
/// scribe calls it, in its turn, so that nobody decides meanwhile.
pub(crate) async fn catch_up(app: &App) {
    let now_ms = app.clock.now_ms();
    let behind = app.book().behind.clone();
    for (watch, _) in behind.into_iter().filter(|(_, again_ms)| *again_ms <= now_ms) {
        app.book_mut().behind.insert(watch.clone(), BEING_READ);
        match replay(app, &watch).await {
            Ok(()) => {
                let mut book = app.book_mut();
                // Unless it fell behind again while it was read.
                if book.behind.get(&watch) == Some(&BEING_READ) {
                    book.behind.remove(&watch);
                }
                tracing::info!(%watch, "what the log has of this watch is folded again");
            }
            Err(problem) => {
                tracing::error!(%watch, %problem, "lines of this watch cannot be read; it is tried again");
                app.book_mut().behind.insert(watch, now_ms + AGAIN_MS);
            }
        }
    }
}

/// Appends to the log of this year, also while one year's log is closed and the next is opened.
async fn append(app: &App, lines: &[Incoming]) -> Result<Appended, Problem> {
    loop {
        succession::turn(app).await?;
        let origin = app.origin();
        match app.store.append(&origin, app.received_now(), lines.to_vec()).await {
            Err(StoreError::LogClosed { .. }) if app.origin() != origin => {}
            appended => return Ok(appended?),
        }
    }
}

/// Reads what the settings keep of people, alerts and acts for two, and what each device may see.
pub(crate) async fn load_settings(app: &App) -> Result<(), Problem> {
    crate::people::load(app).await?;
    crate::alerts::ladder::load(app).await?;
    crate::second::load(app).await?;
    for (id, grant) in app.settings.all::<Grant>().await? {
        let Ok(id) = id.parse::<DeviceId>() else { continue };
        if let Some(known) = app.book_mut().device_mut(id) {
            known.watches = grant.watches;
        }
    }
    Ok(())
}

/// Builds the book from the store: first who may speak, then every watch.
pub(crate) async fn rebuild(app: &App) -> Result<(), Problem> {
    for key in app.scribe.all_keys() {
        app.book_mut().know(key.device(), server_itself(key));
    }
    replay(app, &WatchId::org()).await?;
    load_settings(app).await?;
    for (id, _) in app.settings.all::<crate::opening::Opened>().await? {
        let Ok(id) = WatchId::new(id) else { continue };
        replay(app, &id).await?;
    }
    Ok(())
}

pub(crate) fn server_itself(key: PublicKey) -> Known {
    Known {
        key,
        role: Role::Server,
        person: None,
        watches: None,
        revoked: false,
        heard_ms: None,
        battery: None,
    }
}

/// Folds every stored line of a watch.
async fn replay(app: &App, watch: &WatchId) -> Result<(), Problem> {
    let mut after: Option<Place> = None;
    loop {
        let lines = app.store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        let Some(last) = lines.last() else { return Ok(()) };
        after = Some(last.place.clone());
        for stored in lines {
            fold_stored(app, stored).await?;
        }
    }
}

/// Folds a line that the store has.
pub(crate) async fn fold_stored(app: &App, stored: StoredLine) -> Result<(), Problem> {
    let key = app.book().any_device(stored.dev).map(|known| known.key);
    // The first line of a phone's own chain comes before ours that lets it in; it states its key.
    let Some(key) = key.or_else(|| own_key(&stored)) else { return Ok(()) };
    let Ok(line) = Verified::check(stored.signed.clone(), &key) else {
        tracing::error!(line = %stored.id, "a stored line does not verify: left out of the fold");
        return Ok(());
    };
    let private = match app.store.private(&stored.place).await? {
        PrivateLine::Here(bytes) => Some(bytes),
        PrivateLine::Absent | PrivateLine::Erased => None,
    };
    // Another phone may have brought it: its writer was in touch no later than it was written.
    if let Some(known) = app.book_mut().device_mut(line.dev) {
        let written_ms = line.clk.recorded_ms().min(stored.place.rx.ms);
        known.heard_ms = known.heard_ms.max(Some(written_ms));
    }
    fold(app, line, private, &stored.place).await
}

fn own_key(stored: &StoredLine) -> Option<PublicKey> {
    let value = ledger::canonical::parse(&stored.signed.bytes).ok()?;
    let key = serde_json::from_value(value.get("body")?.get("key")?.clone()).ok();
    key.filter(|key: &PublicKey| key.device() == stored.dev)
}

async fn fold(
    app: &App,
    line: Verified<Line>,
    private: Option<Vec<u8>>,
    place: &Place,
) -> Result<(), Problem> {
    let watch = line.watch.clone();
    let entry = Entry::of(&line).ok();
    if watch.is_org() {
        if let Some(entry) = entry {
            fold_house(app, line.dev, &entry);
        }
        app.tell(None);
        return Ok(());
    }
    let not_before_ms = not_before(app, &line).await?;
    let words = private.as_deref().and_then(|bytes| ledger::Private::parse(bytes).ok());
    let sealing = Sealing {
        index: place.index,
        rx_ms: place.rx.ms,
        rxe_ms: place.rx.error_ms,
        not_before_ms,
    };
    let held = Held { line, sealing: Some(sealing), words: words.as_ref().map(Words::open) };
    {
        let mut book = app.book_mut();
        bundle::blobs_named(&held.line).for_each(|blob| book.names_blob(&watch, blob));
        if let Some(Entry::Erased(body)) = &entry
            && let Some(blob) = body.blob.filter(|_| app.scribe.is_ours(held.line.dev))
        {
            book.erases_blob(&watch, blob);
        }
        book.live(&watch).fold.add(held);
        book.plan_look(&watch, app.clock.now_ms());
    }
    if let Some(entry) = entry {
        fold_documents(app, &watch, &entry).await?;
    }
    app.tell(Some(watch));
    Ok(())
}

/// Devices come and go by the server's own lines; batteries by the devices'.
fn fold_house(app: &App, dev: DeviceId, entry: &Entry) {
    if let Entry::Rekeyed(body) = entry
        && app.scribe.is_ours(dev)
    {
        app.scribe.learn(body.key);
    }
    let mut book = app.book_mut();
    match entry {
        Entry::Enrolled(body) if app.scribe.is_ours(dev) => {
            let known = Known {
                key: body.key,
                role: body.role,
                person: body.person.clone(),
                // Until its grant is read: nothing.
                watches: Some(BTreeSet::new()),
                revoked: false,
                heard_ms: None,
                battery: None,
            };
            if body.key.device() == body.device {
                book.know(body.device, known);
            }
        }
        Entry::Rekeyed(body) if app.scribe.is_ours(dev) => {
            book.know(body.key.device(), server_itself(body.key));
        }
        Entry::Revoked(body) if app.scribe.is_ours(dev) => {
            if let Some(known) = book.device_mut(body.device) {
                known.revoked = true;
            }
        }
        Entry::Heartbeat(body) => {
            if let Some(known) = book.device_mut(dev) {
                known.battery = body.battery.or(known.battery);
            }
        }
        _ => {}
    }
}

/// Reads the document that a line puts in force. The fold decides which of several is newest, so
/// only a line that is in force now replaces what is held.
async fn fold_documents(app: &App, watch: &WatchId, entry: &Entry) -> Result<(), Problem> {
    let digest = match entry {
        Entry::WatchOpened(body) => body.card,
        Entry::PlanSet(body) => body.plan,
        Entry::TermsSet(body) => body.terms,
        Entry::InstructionsSet(body) => body.instructions,
        _ => return Ok(()),
    };
    let Some(bytes) = app.store.blobs().get(digest).await? else { return Ok(()) };
    let mut book = app.book_mut();
    keep_document(&mut book.live(watch).documents, entry, &bytes, digest);
    Ok(())
}

fn keep_document(documents: &mut Documents, entry: &Entry, bytes: &[u8], digest: Digest) {
    let fault = match entry {
        Entry::WatchOpened(_) => keep(&mut documents.card, Document::parse(bytes)),
        Entry::PlanSet(_) => keep(&mut documents.plan, floorplan::Plan::read(bytes)),
        Entry::TermsSet(_) => keep(&mut documents.terms, Document::parse(bytes)),
        Entry::InstructionsSet(_) => keep(&mut documents.instructions, Document::parse(bytes)),
        _ => None,
    };
    if let Some(fault) = fault {
        tracing::warn!(%digest, fault, "a document cannot be read");
    }
}

fn keep<T, E: std::fmt::Display>(slot: &mut Option<T>, read: Result<T, E>) -> Option<String> {
    match read {
        Ok(document) => {
            *slot = Some(document);
            None
        }
        Err(error) => Some(error.to_string()),
    }
}

/// A line is not older than the last leaf under the head that it quotes.
async fn not_before(app: &App, line: &Verified<Line>) -> Result<Option<i64>, Problem> {
    let Some(head) = line.head.as_ref().filter(|head| head.size > 0) else { return Ok(None) };
    let place = (head.origin.clone(), head.size - 1);
    if let Some(rx_ms) = app.book().received.get(&place) {
        return Ok(Some(*rx_ms));
    }
    let size = match app.store.head(&head.origin).await {
        Ok(log) => log.size,
        Err(StoreError::NoLog { .. }) => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    // Only a head of this very history proves anything.
    if head.size > size || app.store.root_at(&head.origin, head.size).await? != head.root {
        return Ok(None);
    }
    let (rx_ms, _) = app.store.leaf(&head.origin, place.1).await?.received();
    app.book_mut().received.insert(place, rx_ms);
    Ok(Some(rx_ms))
}
