//! Lines that the log has on their way into the book: verified, with the words that stand beside them, where they
//! were sealed, and the documents that they name.

use crate::book::{Documents, Known, Live};
use crate::problem::Problem;
use crate::scribe::Scribe;
use crate::server::App;
use crate::shelf;
use crate::succession::{Leaf, Logs};
use ledger::{DeviceId, Digest, Line, PublicKey, Verified, WatchId};
use record::documents::Document;
use record::{Entry, Words};
use std::collections::BTreeSet;
use store::{Place, PrivateLine, StoreError, StoredLine};
use watch::{Held, Sealing};

/// Stored lines read at a time.
const PAGE: u32 = 2_000;

/// Everything that the book takes from one line of a watch.
#[derive(Debug)]
pub(crate) struct Folding {
    held: Held,
    entry: Option<Entry>,
    /// The document that the line names, if it is here.
    document: Option<(Digest, Vec<u8>)>,
    place: Leaf,
    /// A line of ours says that this picture was erased.
    erases: Option<Digest>,
}

impl Folding {
    /// Reads what belongs to a line.
    async fn read(
        app: &App,
        line: Verified<Line>,
        private: Option<Vec<u8>>,
        place: &Place,
    ) -> Result<Folding, Problem> {
        let entry = Entry::of(&line).ok();
        let words = private.as_deref().and_then(|bytes| ledger::Private::parse(bytes).ok());
        let sealing = Sealing {
            index: place.index,
            rx_ms: place.rx.ms,
            rxe_ms: place.rx.error_ms,
            not_before_ms: not_before(app, &line).await?,
        };
        let document = match entry.as_ref().and_then(document_of) {
            Some(digest) => app.store.blobs().get(digest).await?.map(|bytes| (digest, bytes)),
            None => None,
        };
        Ok(Folding {
            erases: entry.as_ref().and_then(|entry| erased_blob(&app.scribe, line.dev, entry)),
            held: Held { line, sealing: Some(sealing), words: words.as_ref().map(Words::open) },
            entry,
            document,
            place: (place.origin.clone(), place.index),
        })
    }

    /// Folds it. The fold decides what is in force; of the documents the last that came in is held.
    fn put(self, live: &mut Live, logs: &Logs, now_ms: i64) {
        live.blobs.extend(bundle::blobs_named(&self.held.line));
        live.erased.extend(self.erases);
        if let Some(fold) = &mut live.fold {
            fold.add(self.held);
        }
        if let Some(Entry::WatchOpened(body)) = &self.entry {
            live.site.get_or_insert_with(|| body.site.clone());
        }
        if let Some((entry, (digest, bytes))) = self.entry.as_ref().zip(self.document) {
            keep_document(&mut live.documents, entry, &bytes, digest);
        }
        live.last = Some(logs.later(live.last.take(), self.place));
        live.used_ms = now_ms;
    }
}

fn erased_blob(scribe: &Scribe, dev: DeviceId, entry: &Entry) -> Option<Digest> {
    match entry {
        Entry::Erased(body) => body.blob.filter(|_| scribe.is_ours(dev)),
        _ => None,
    }
}

/// The document that a line puts in force.
fn document_of(entry: &Entry) -> Option<Digest> {
    match entry {
        Entry::WatchOpened(body) => Some(body.card),
        Entry::PlanSet(body) => Some(body.plan),
        Entry::TermsSet(body) => Some(body.terms),
        Entry::InstructionsSet(body) => Some(body.instructions),
        _ => None,
    }
}

/// Folds every stored line of a watch into the book.
pub(crate) async fn replay(app: &App, watch: &WatchId) -> Result<(), Problem> {
    replay_after(app, watch, None).await
}

/// Folds the stored lines of a watch after a place into the book.
pub(crate) async fn replay_after(
    app: &App,
    watch: &WatchId,
    mut after: Option<Place>,
) -> Result<(), Problem> {
    loop {
        let lines = app.store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        let Some(last) = lines.last() else { return Ok(()) };
        after = Some(last.place.clone());
        for stored in lines {
            fold_stored(app, stored).await?;
        }
    }
}

/// Folds every stored line of a watch beside the book, which stays as it is.
pub(crate) async fn beside(app: &App, watch: &WatchId) -> Result<Live, Problem> {
    let mut live = Live::empty(watch);
    let mut after: Option<Place> = None;
    loop {
        let lines = app.store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        let Some(last) = lines.last() else { return Ok(live) };
        after = Some(last.place.clone());
        for stored in lines {
            let Some((line, private)) = believed(app, &stored).await? else { continue };
            let folding = Folding::read(app, line, private, &stored.place).await?;
            folding.put(&mut live, &app.logs(), app.clock.now_ms());
        }
    }
}

/// Folds a line that the store has.
pub(crate) async fn fold_stored(app: &App, stored: StoredLine) -> Result<(), Problem> {
    let Some((line, private)) = believed(app, &stored).await? else { return Ok(()) };
    // Another phone may have brought it: its writer was in touch no later than it was written.
    if let Some(known) = app.book_mut().device_mut(line.dev) {
        let written_ms = line.clk.recorded_ms().min(stored.place.rx.ms);
        known.heard_ms = known.heard_ms.max(Some(written_ms));
    }
    fold(app, line, private, &stored.place).await
}

/// A stored line whose signature holds, with what stands beside it.
async fn believed(
    app: &App,
    stored: &StoredLine,
) -> Result<Option<(Verified<Line>, Option<Vec<u8>>)>, Problem> {
    let key = app.book().any_device(stored.dev).map(|known| known.key);
    // The first line of a phone's own chain comes before ours that lets it in; it states its key.
    let Some(key) = key.or_else(|| own_key(stored)) else { return Ok(None) };
    let Ok(line) = Verified::check(stored.signed.clone(), &key) else {
        tracing::error!(line = %stored.id, "a stored line does not verify: left out of the fold");
        return Ok(None);
    };
    let private = match line.private.is_some() && !line.watch.is_org() {
        true => app.store.private(&stored.place).await?,
        false => PrivateLine::Absent,
    };
    let private = match private {
        PrivateLine::Here(bytes) => Some(bytes),
        PrivateLine::Absent | PrivateLine::Erased => None,
    };
    Ok(Some((line, private)))
}

fn own_key(stored: &StoredLine) -> Option<PublicKey> {
    let value = ledger::canonical::parse(&stored.signed.bytes).ok()?;
    let key = serde_json::from_value(value.get("body")?.get("key")?.clone()).ok();
    key.filter(|key: &PublicKey| key.device() == stored.dev)
}

/// Folds a line that the log has just taken.
pub(crate) async fn fold(
    app: &App,
    line: Verified<Line>,
    private: Option<Vec<u8>>,
    place: &Place,
) -> Result<(), Problem> {
    let watch = line.watch.clone();
    if watch.is_org() {
        if let Ok(entry) = Entry::of(&line) {
            fold_house(app, line.dev, &entry);
        }
        app.book_mut().house.folded((place.origin.clone(), place.index), &app.logs());
        app.tell(None);
        return Ok(());
    }
    let mut folding = Some(Folding::read(app, line, private, place).await?);
    while let Some(read) = folding.take() {
        // Late lines of a watch that is over bring it back first.
        shelf::bring_back(app, &watch).await?;
        let (now_ms, logs) = (app.clock.now_ms(), app.logs());
        let mut book = app.book_mut();
        if book.is_put_away(&watch) {
            folding = Some(read);
            continue;
        }
        let blobs: Vec<Digest> = bundle::blobs_named(&read.held.line).collect();
        blobs.into_iter().for_each(|blob| book.names_blob(&watch, blob));
        if let Some(blob) = read.erases {
            book.erases_blob(&watch, blob);
        }
        read.put(book.live(&watch), &logs, now_ms);
        book.plan_look(&watch, now_ms);
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
            book.know(body.key.device(), Known::server(body.key));
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

fn keep_document(documents: &mut Documents, entry: &Entry, bytes: &[u8], digest: Digest) {
    let fault = match entry {
        Entry::WatchOpened(_) => {
            let fault = keep(&mut documents.card, Document::parse(bytes));
            documents.name =
                documents.card.as_ref().map(|card| card.name.clone()).unwrap_or_default();
            fault
        }
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
    if let Some(rx_ms) = app.book().received_ms(&place) {
        return Ok(Some(rx_ms));
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
    app.book_mut().note_received(place, rx_ms);
    Ok(Some(rx_ms))
}
