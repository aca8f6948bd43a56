//! Lines on their way in: appended by the store, then folded into the book (`folding.rs`).

use crate::book::Known;
use crate::folding::{fold, fold_stored, replay};
use crate::problem::Problem;
use crate::server::App;
use crate::settings::{DEVICES, Kept};
use crate::{house_chain, shelf, succession};
use futures_util::TryStreamExt;
use ledger::{DeviceId, WatchId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use store::{Appended, Incoming, Outcome, StoreError};

/// After lines could not be read it is tried again, ms.
const AGAIN_MS: i64 = 1_000;

/// So many watches are read at the same time at a start: as many as the store has readers.
const READ_TOGETHER: usize = 4;

/// In place of when it is tried again, while it is.
const BEING_READ: i64 = i64::MAX;

/// What a device may see, as the settings keep it. Its key and person stand in the record.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct Grant {
    /// None: all watches of the house.
    pub(crate) watches: Option<BTreeSet<WatchId>>,
}

impl Kept for Grant {
    const COLLECTION: &'static str = DEVICES;
}

/// Whose lines they are. On a disk that fills up our own are taken last, so that alerts still go out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Whose {
    Device,
    Own,
}

/// Appends verified lines and folds what the log took. Returns after all of it is durable.
pub(crate) async fn take_in(
    app: &App,
    lines: Vec<Incoming>,
    whose: Whose,
) -> Result<Appended, Problem> {
    let watches: BTreeSet<WatchId> = lines.iter().map(|sent| sent.line.watch.clone()).collect();
    let appended = match append(app, &lines, whose).await {
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
    if watches.contains(&WatchId::org()) {
        book.house.missed();
    }
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
async fn append(app: &App, lines: &[Incoming], whose: Whose) -> Result<Appended, Problem> {
    loop {
        succession::turn(app).await?;
        let origin = app.origin();
        let (rx, lines) = (app.received_now(), lines.to_vec());
        let appended = match whose {
            Whose::Device => app.store.append(&origin, rx, lines).await,
            Whose::Own => app.store.append_own(&origin, rx, lines).await,
        };
        match appended {
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

/// Builds the book from the store: first who may speak, then every watch; of one that was put away only its label.
pub(crate) async fn rebuild(app: &App) -> Result<(), Problem> {
    for key in app.scribe.all_keys() {
        app.book_mut().know(key.device(), Known::server(key));
    }
    house_chain::rebuild(app).await?;
    load_settings(app).await?;
    let opened = app.settings.all::<crate::opening::Opened>().await?;
    let watches = opened.into_iter().filter_map(|(id, _)| WatchId::new(id).ok());
    // What is read of one watch touches no other, and a desk waits for the last of them.
    futures_util::stream::iter(watches.map(Ok))
        .try_for_each_concurrent(READ_TOGETHER, async |watch| {
            let app = app.clone();
            let read = tokio::spawn(async move { read_again(&app, &watch).await });
            read.await.map_err(|error| Problem::Machine(error.to_string()))?
        })
        .await
}

async fn read_again(app: &App, watch: &WatchId) -> Result<(), Problem> {
    if shelf::by_label(app, watch).await? { Ok(()) } else { replay(app, watch).await }
}
