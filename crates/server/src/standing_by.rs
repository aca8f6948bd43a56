//! A server that stands by: of several on one PostgreSQL one orders the lines. The others answer what is
//! only read, and learn what the leader appends by LISTEN and NOTIFY, until its seat is free.

use crate::doors::Doors;
use crate::keys::{self, Lack};
use crate::options::{Options, StartError};
use crate::router::router;
use crate::server::{App, Server};
use crate::{alerts, connections, intake};
use ledger::WatchId;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;
use store::{News, Store, StoreError};
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// How often it is tried to take the seat.
const TRY_EVERY: Duration = Duration::from_secs(1);
/// How long answers that run may take when this server takes over.
const PATIENCE: Duration = Duration::from_secs(2);
/// How often what falls due by time alone is looked at.
const LOOK_EVERY: Duration = Duration::from_millis(500);
/// Stored lines read at a time.
const PAGE: u32 = 2_000;

/// Answers reads until the store can be opened for writing, and returns it then.
pub(crate) async fn until_it_leads(options: &Options) -> Result<Store, StartError> {
    let keys = options.data.join("keys");
    let mut reading: Option<Reading> = None;
    loop {
        let may_lead = match &reading {
            Some(reading) => reading.may_lead(&keys).await,
            None => true,
        };
        if may_lead && let Some(store) = seat(options, &keys).await.transpose() {
            if let Some(reading) = reading {
                reading.stop().await;
            }
            return store;
        }
        if reading.as_ref().is_none_or(Reading::has_ended) {
            match Reading::begin(options).await {
                Ok(begun) => {
                    tracing::info!("this server stands by and answers reads");
                    reading = Some(begun);
                }
                Err(error @ StartError::Keys(_)) => return Err(error),
                // An empty database: the leader is still filling it.
                Err(error) => tracing::info!(%error, "another server leads; this one stands by"),
            }
        }
        tokio::time::sleep(TRY_EVERY).await;
    }
}

/// The store, if this server may lead; none while another one does, or while its keys are too old to sign.
async fn seat(options: &Options, keys: &Path) -> Result<Option<Store>, StartError> {
    let store = match Store::open(&options.store()).await {
        Err(StoreError::InUse) => return Ok(None),
        opened => opened?,
    };
    match keys::lack(&store, keys).await? {
        None => Ok(Some(store)),
        Some(Lack::Newer) => {
            store.close().await;
            Ok(None)
        }
        Some(lack) => Err(lack.error(keys)),
    }
}

/// What runs while this server stands by.
struct Reading {
    app: App,
    stop: watch::Sender<bool>,
    serving: JoinHandle<()>,
    following: JoinHandle<()>,
}

impl Reading {
    async fn begin(options: &Options) -> Result<Reading, StartError> {
        let store = Store::open_reader(&options.store()).await?;
        let keys = options.data.join("keys");
        // With older ones it reads; with another house's it would believe no line.
        if let Some(lack @ Lack::OfOthers) = keys::lack(&store, &keys).await? {
            return Err(lack.error(&keys));
        }
        // Before anything is read, so that nothing is appended in between unseen.
        let news = store.news().await?;
        let sizes = sizes(&store).await?;
        let listener = crate::serving::listen(options.listen).await?;
        let local = listener.local_addr()?;
        let app = Server::open_reader(options.clone(), local, store).await?;
        let doors = Doors::open(listener, options)?;
        let (stop, stopped) = watch::channel(false);
        let serving = tokio::spawn(connections::serve(doors, router(app.clone()), stopped));
        let following = tokio::spawn(follow(app.clone(), news, sizes));
        Ok(Reading { app, stop, serving, following })
    }

    /// Whether this server has the keys with which the record goes on. They may be copied while it runs.
    async fn may_lead(&self, keys: &Path) -> bool {
        let lack = match keys::lack(&self.app.store, keys).await {
            Ok(lack) => lack,
            // The database is gone, perhaps: whoever opens it finds out.
            Err(_) => return true,
        };
        if self.app.lacks_key.swap(lack.is_some(), Ordering::Relaxed) != lack.is_some() {
            match lack {
                Some(lack) => tracing::error!("this server cannot take over: {}", lack.error(keys)),
                None => tracing::info!("the server's new key is here: this server can take over"),
            }
        }
        lack.is_none()
    }

    fn has_ended(&self) -> bool {
        self.serving.is_finished() || self.following.is_finished()
    }

    async fn stop(self) {
        self.stop.send_replace(true);
        self.app.end_streams();
        self.following.abort();
        let aborting = self.serving.abort_handle();
        if tokio::time::timeout(PATIENCE, self.serving).await.is_err() {
            aborting.abort();
        }
        let store = self.app.store.clone();
        drop(self.app);
        store.close().await;
    }
}

type Sizes = BTreeMap<Arc<str>, u64>;

async fn sizes(store: &Store) -> Result<Sizes, StoreError> {
    let states = store.log_states().await?;
    Ok(states.into_iter().map(|state| (state.origin, state.size)).collect())
}

/// Folds what the leader appends, and looks at what falls due meanwhile.
async fn follow(app: App, mut news: News, mut seen: Sizes) {
    let mut every = tokio::time::interval(LOOK_EVERY);
    loop {
        tokio::select! {
            told = news.wait() => {
                let caught_up = match told {
                    Ok(()) => catch_up(&app, &mut seen).await,
                    Err(error) => Err(error.into()),
                };
                if let Err(problem) = caught_up {
                    // The database is gone for a while: what is missed is caught up.
                    tracing::warn!(%problem, "news of the leader could not be read; it is tried again");
                    tokio::time::sleep(TRY_EVERY).await;
                }
            }
            _ = every.tick() => {}
        }
        alerts::look_only(&app).await;
    }
}

/// Folds every line that the logs have beyond what was seen.
async fn catch_up(app: &App, seen: &mut Sizes) -> Result<(), crate::Problem> {
    let mut touched: BTreeSet<WatchId> = BTreeSet::new();
    for (origin, size) in sizes(&app.store).await? {
        let from = seen.entry(origin.clone()).or_insert(0);
        while *from < size {
            let lines = app.store.lines(&origin, *from..size, PAGE).await?;
            // A closing leaf is no line.
            let Some(last) = lines.last() else {
                *from = size;
                continue;
            };
            *from = last.place.index + 1;
            for line in lines {
                touched.insert(line.watch.clone());
                crate::folding::fold_stored(app, line).await?;
            }
        }
    }
    app.follow_logs().await?;
    if touched.is_empty() {
        return Ok(());
    }
    // People, ladders and grants are settings: each change of them is followed by a line.
    intake::load_settings(app).await?;
    for watch in touched.iter().filter(|watch| !watch.is_org()) {
        alerts::renew_now(app, watch);
        app.tell(Some(watch.clone()));
    }
    app.tell(None);
    Ok(())
}
