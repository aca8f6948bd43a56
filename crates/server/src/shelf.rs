//! Watches that are over are put away: their lines stay in the store, and the book keeps a label of each, so that
//! memory and the time of a start grow with the watches that go on, not with all that ever were.
//!
//! A label says what lists of watches say. Whoever needs more has the watch brought back ([`bring_back`]): a reader, a
//! late line, an alert. It is put away again once nobody has asked for it for a while. Labels are derived values: one that
//! is missing, or older than the newest line of its watch, is made again from the lines.

use crate::book::{Book, Documents, Live};
use crate::folding;
use crate::problem::Problem;
use crate::server::App;
use crate::standing::Standing;
use ledger::{Digest, WatchId};
use record::SiteId;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use store::{Place, StoreError};

/// Where labels are kept. What they hold is another collection's once it changes.
const COLLECTION: &str = "put-away-1";

/// So long after its release, its last line and its last reader a watch is put away, ms (our own default): photos have
/// followed by then, and whoever turns a page waits for nothing.
const REST_MS: i64 = 600_000;

/// What is kept of a watch that is put away.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Label {
    /// Up to where in which log its lines were folded.
    log: String,
    index: u64,
    name: String,
    site: Option<SiteId>,
    tz: String,
    from_ms: i64,
    until_ms: Option<i64>,
    ended_ms: Option<i64>,
    released_ms: i64,
    demo: bool,
    test: bool,
    drill: bool,
    blobs: BTreeSet<Digest>,
    erased: BTreeSet<Digest>,
}

impl Label {
    /// None for a watch that goes on.
    fn of(live: &Live) -> Option<Label> {
        let (log, index) = live.last.as_ref()?;
        let standing = &live.standing;
        Some(Label {
            log: log.to_string(),
            index: *index,
            name: live.documents.name().to_owned(),
            site: live.site.clone(),
            tz: standing.tz.clone(),
            from_ms: standing.from_ms,
            until_ms: standing.until_ms,
            ended_ms: standing.ended_ms,
            released_ms: standing.released_ms?,
            demo: standing.demo,
            test: standing.test,
            drill: standing.drill,
            blobs: live.blobs.clone(),
            erased: live.erased.clone(),
        })
    }

    fn live(&self, watch: &WatchId) -> Live {
        let standing = Standing {
            tz: self.tz.clone(),
            site: self.site.clone(),
            from_ms: self.from_ms,
            until_ms: self.until_ms,
            ended_ms: self.ended_ms,
            released_ms: Some(self.released_ms),
            demo: self.demo,
            test: self.test,
            drill: self.drill,
            begun: true,
            ..Standing::default()
        };
        let documents = Documents { name: self.name.clone(), ..Documents::default() };
        let mut live = Live::empty(watch);
        live.fold = None;
        live.site = self.site.clone();
        live.documents = documents;
        live.standing = standing;
        live
    }
}

/// Takes a watch into the book by its label. False if it has none that holds: its lines must be read.
pub(crate) async fn by_label(app: &App, watch: &WatchId) -> Result<bool, Problem> {
    let Some(bytes) = app.store.derived(COLLECTION, watch.as_str()).await? else {
        return Ok(false);
    };
    let Ok(label) = serde_json::from_slice::<Label>(&bytes) else { return Ok(false) };
    if has_more(app, watch, &label).await? {
        return Ok(false);
    }
    let mut book = app.book_mut();
    label.blobs.iter().for_each(|blob| book.names_blob(watch, *blob));
    label.erased.iter().for_each(|blob| book.erases_blob(watch, *blob));
    book.set_live(watch, label.live(watch));
    Ok(true)
}

/// Whether the log has lines of a watch beyond those that its label knows.
async fn has_more(app: &App, watch: &WatchId, label: &Label) -> Result<bool, Problem> {
    let last =
        Place { origin: label.log.as_str().into(), index: label.index, rx: app.received_now() };
    match app.store.lines_of_watch(watch, Some(&last), 1).await {
        Ok(lines) => Ok(!lines.is_empty()),
        // A copy from before that log was opened came back.
        Err(StoreError::NoLog { .. }) => Ok(true),
        Err(error) => Err(error.into()),
    }
}

/// Has the lines of a watch in the book, if there is such a watch.
pub(crate) async fn bring_back(app: &App, watch: &WatchId) -> Result<(), Problem> {
    if !is_put_away(app, watch) {
        return Ok(());
    }
    // One at a time reads it; the others find it there.
    let _turn = app.bringing_back.lock().await;
    if !is_put_away(app, watch) {
        return Ok(());
    }
    let mut live = folding::beside(app, watch).await?;
    let now_ms = app.clock.now_ms();
    live.standing = live.about(now_ms).as_ref().map(Standing::of).unwrap_or_default();
    let mut book = app.book_mut();
    book.set_live(watch, live);
    book.plan_look(watch, now_ms);
    Ok(())
}

/// Whether a watch is put away; if not, it is noted that somebody asked for it.
fn is_put_away(app: &App, watch: &WatchId) -> bool {
    let now_ms = app.clock.now_ms();
    {
        let book = app.book();
        let Some(live) = book.watch(watch) else { return false };
        if live.fold.is_none() {
            return true;
        }
        if now_ms - live.used_ms < REST_MS / 2 {
            return false;
        }
    }
    let mut book = app.book_mut();
    let live = book.live(watch);
    live.used_ms = now_ms;
    live.fold.is_none()
}

/// A watch with its lines, for one look: what is put away stays so.
pub(crate) async fn read(app: &App, watch: &WatchId) -> Result<Live, Problem> {
    if let Some(live) = app.book().watch(watch).filter(|live| live.fold.is_some()) {
        return Ok(live.clone());
    }
    folding::beside(app, watch).await
}

/// Puts away every watch that can rest. Called now and then.
pub(crate) async fn put_away(app: &App) {
    let now_ms = app.clock.now_ms();
    let resting: Vec<WatchId> = {
        let book = app.book();
        let resting = book.watches().filter(|(id, live)| can_rest(app, &book, id, live, now_ms));
        resting.map(|(id, _)| id.clone()).collect()
    };
    for watch in resting {
        if let Err(problem) = put_one_away(app, &watch, now_ms).await {
            tracing::warn!(%watch, %problem, "a watch that is over stays in memory; it is tried again");
            return;
        }
    }
}

async fn put_one_away(app: &App, watch: &WatchId, now_ms: i64) -> Result<(), Problem> {
    let Some(label) = app.book().watch(watch).and_then(Label::of) else { return Ok(()) };
    if !app.stands_by {
        let bytes = serde_json::to_vec(&label).expect("a label has only names and numbers");
        app.store.write_derived(COLLECTION, watch.as_str(), &bytes).await?;
    }
    let mut book = app.book_mut();
    // A line may have come, or a reader, while the label was written.
    let rests = book.watch(watch).is_some_and(|live| {
        let same = live
            .last
            .as_ref()
            .is_some_and(|(log, index)| (&**log, *index) == (label.log.as_str(), label.index));
        same && can_rest(app, &book, watch, live, now_ms)
    });
    if rests {
        book.set_live(watch, label.live(watch));
    }
    Ok(())
}

/// Whether nothing more is to be done about a watch: it was released, nothing is owed, nothing comes in, nobody reads.
fn can_rest(app: &App, book: &Book, id: &WatchId, live: &Live, now_ms: i64) -> bool {
    let (Some(fold), standing) = (&live.fold, &live.standing) else { return false };
    if standing.released_ms.is_none() || live.is_on_the_agenda() {
        return false;
    }
    let quiet =
        standing.released_ms.max(Some(live.used_ms)).is_some_and(|at| at <= now_ms - REST_MS);
    let owes = !standing.conditions.is_empty()
        || !standing.lasting(now_ms).is_empty()
        || book.undelivered.contains_key(id)
        || book.behind.contains_key(id);
    // A server that stands by sends no reports and owes none.
    let reported = app.stands_by || live.reported == Some(fold.len());
    quiet && !owes && reported
}
