//! The handle that the server holds.

use crate::backend::{Backend, LogRow, Select, Told};
use crate::blobs::Blobs;
use crate::cut::{self, Cut};
use crate::disk::{Reserve, Room, Wants};
use crate::error::StoreError;
use crate::marks::Marks;
use crate::options::Options;
use crate::outcome::{Appended, Incoming, Place, PrivateLine, Quarantined, ReceivedAt, StoredLine};
use crate::postgres::PostgresStore;
use crate::sqlite::SqliteStore;
use crate::writer::{Append, Ask, Reply, Seen, Writer};
use ledger::head::{Head, SignedHead, Vkey};
use ledger::{DeviceId, Leaf, WatchId};
use std::ops::Range;
use std::path::Path;
use std::sync::{Arc, OnceLock};
use std::time::Duration;
use tokio::sync::{mpsc, oneshot, watch};

/// A store: the logs of one organisation, its blobs and its settings. Clones share it.
#[derive(Debug, Clone)]
pub struct Store {
    backend: Arc<dyn Backend>,
    blobs: Blobs,
    pub(crate) reserve: Reserve,
    /// None when opened for reading only.
    pub(crate) writing: Option<Writing>,
}

/// The way to the writer.
#[derive(Debug, Clone)]
pub(crate) struct Writing {
    pub(crate) epoch: i64,
    asks: mpsc::Sender<Ask>,
    pub(crate) seen: watch::Receiver<Seen>,
    ended: watch::Receiver<bool>,
    /// Why nothing can be written any more.
    dead: Arc<OnceLock<StoreError>>,
}

/// Requests that wait for the writer at most; beyond that whoever asks waits.
const ASKS_QUEUED: usize = 4_096;

impl Store {
    /// Opens a store for reading and writing and takes over as the one that orders lines. Refuses a
    /// database that is older than what was signed. Must be called inside a tokio runtime.
    pub async fn open(options: &Options) -> Result<Store, StoreError> {
        Store::open_checked(options, false).await.map(|(store, _)| store)
    }

    /// As [`Store::open`], on somebody's word that there is no newer copy: logs that are shorter than
    /// what was signed of them are given up for good, and returned.
    pub async fn open_restored(options: &Options) -> Result<(Store, Vec<Cut>), StoreError> {
        Store::open_checked(options, true).await
    }

    async fn open_checked(
        options: &Options,
        restored: bool,
    ) -> Result<(Store, Vec<Cut>), StoreError> {
        let (backend, reserve) = open_backend(options, true).await?;
        let mut marks = Marks::open(options)?;
        let behind = cut::behind(&*backend, &mut marks).await?;
        if let Some(Cut { origin, size, high_water }) = behind.first().filter(|_| !restored) {
            let (origin, database, high_water) = (origin.clone(), *size, *high_water);
            return Err(StoreError::RolledBack { origin, database, high_water });
        }
        cut::check_covered(&*backend, &behind).await?;
        let blobs = Blobs::open(&options.blobs, reserve.clone(), options.blob_bytes_max)?;
        let epoch = backend.take_over().await?;
        cut::write(&*backend, epoch, &behind).await?;
        let (asks, asked) = mpsc::channel(ASKS_QUEUED);
        let (sender, seen) = watch::channel(Seen::default());
        let dead = Arc::new(OnceLock::new());
        let writer =
            Writer::new(backend.clone(), epoch, marks, reserve.clone(), sender, dead.clone());
        let (end, ended) = watch::channel(false);
        tokio::spawn(async move {
            writer.run(asked).await;
            end.send_replace(true);
        });
        let writing = Some(Writing { epoch, asks, seen, ended, dead });
        Ok((Store { backend, blobs, reserve, writing }, behind))
    }

    /// Opens a store for reading only; also one that was rolled back.
    pub async fn open_reader(options: &Options) -> Result<Store, StoreError> {
        let (backend, reserve) = open_backend(options, false).await?;
        let blobs = Blobs::open(&options.blobs, reserve.clone(), options.blob_bytes_max)?;
        Ok(Store { backend, blobs, reserve, writing: None })
    }

    /// Gives this handle back and waits until the last one is gone and all is written.
    pub async fn close(self) {
        let Some(Writing { asks, mut ended, .. }) = self.writing else {
            self.backend.close().await;
            return;
        };
        drop(asks);
        // An error means that the writer is gone already.
        let _ = ended.wait_for(|ended| *ended).await;
    }

    /// The blobs.
    pub fn blobs(&self) -> &Blobs {
        &self.blobs
    }

    /// Room on the fullest disk.
    pub fn room(&self) -> Result<Room, StoreError> {
        self.reserve.room()
    }

    /// Why nothing can be written any more, if so. The process must end: only a fresh start reads
    /// what really is on the disk.
    pub fn fatal(&self) -> Option<StoreError> {
        self.writing.as_ref()?.dead.get().cloned()
    }

    // Lines in.

    /// Makes a log unless there is one of that name (`HOST/ORG/YEAR`).
    pub async fn create_log(&self, origin: &str) -> Result<(), StoreError> {
        let origin = Arc::from(origin);
        self.ask(|reply| Ask::CreateLog { origin, reply }).await
    }

    /// Appends a batch and returns when all of it that was taken is durable.
    pub async fn append(
        &self,
        origin: &str,
        rx: ReceivedAt,
        lines: Vec<Incoming>,
    ) -> Result<Appended, StoreError> {
        self.append_as(origin, rx, lines, Wants::Line).await
    }

    /// As [`Store::append`], for the server's own lines: they are still taken when the disk is too full for others.
    pub async fn append_own(
        &self,
        origin: &str,
        rx: ReceivedAt,
        lines: Vec<Incoming>,
    ) -> Result<Appended, StoreError> {
        self.append_as(origin, rx, lines, Wants::Own).await
    }

    async fn append_as(
        &self,
        origin: &str,
        rx: ReceivedAt,
        lines: Vec<Incoming>,
        wants: Wants,
    ) -> Result<Appended, StoreError> {
        let origin = Arc::from(origin);
        self.ask(|reply| Ask::Append(Append { origin, rx, lines, wants, reply })).await
    }

    /// Signs the committed head and returns it. The high-water mark is durable before `sign` is
    /// called; a head that was signed already is returned as it is.
    pub async fn publish(
        &self,
        origin: &str,
        sign: impl FnOnce(&Head) -> SignedHead + Send + 'static,
    ) -> Result<SignedHead, StoreError> {
        let (origin, sign) = (Arc::from(origin), Box::new(sign));
        self.ask(|reply| Ask::Publish { origin, sign, reply }).await
    }

    /// Closes a log with a last leaf that names the next log and its key.
    pub async fn close_log(
        &self,
        origin: &str,
        rx: ReceivedAt,
        next: Vkey,
    ) -> Result<Head, StoreError> {
        let origin = Arc::from(origin);
        self.ask(|reply| Ask::CloseLog { origin, rx, next, reply }).await
    }

    /// Erases the private line at a place. The line that says so is appended first, so that a crash
    /// between the two leaves a promise that can be kept again, never a hole without a reason.
    pub async fn erase_private(&self, place: &Place) -> Result<(), StoreError> {
        let epoch = self.writing()?.epoch;
        let log = self.log(&place.origin).await?;
        self.noted(self.backend.erase_private(epoch, log.log, place.index).await)
    }

    // Lines out.

    /// The names of all logs, oldest first.
    pub async fn logs(&self) -> Result<Vec<Arc<str>>, StoreError> {
        Ok(self.backend.logs().await?.into_iter().map(|row| row.origin).collect())
    }

    /// All logs as they stand, oldest first.
    pub async fn log_states(&self) -> Result<Vec<LogState>, StoreError> {
        let cut = cut::all(&*self.backend).await?;
        let mut states = Vec::new();
        for row in self.backend.logs().await? {
            let is_open = cut::is_open(&row, &cut);
            let next = row.closing.as_deref().map(closed_for).transpose()?;
            states.push(LogState { origin: row.origin, size: row.size, is_open, next });
        }
        Ok(states)
    }

    /// The logs that lost their end when an older copy was restored, by name.
    pub async fn cut(&self) -> Result<Vec<Cut>, StoreError> {
        Ok(cut::all(&*self.backend).await?.into_values().collect())
    }

    /// The committed head of a log.
    pub async fn head(&self, origin: &str) -> Result<Head, StoreError> {
        let log = self.log(origin).await?;
        Ok(Head { origin: log.origin.to_string(), size: log.size, root: log.root })
    }

    /// Changes whenever a log has grown; the value counts for nothing, read the log.
    pub fn growth(&self) -> Result<Growth, StoreError> {
        Ok(Growth(self.writing()?.seen.clone()))
    }

    /// News of what any process commits to this database.
    pub async fn news(&self) -> Result<News, StoreError> {
        Ok(News(self.backend.listen().await?))
    }

    /// Lines of one log by index, in order, at most `limit`. A closing leaf is no line.
    pub async fn lines(
        &self,
        origin: &str,
        indexes: Range<u64>,
        limit: u32,
    ) -> Result<Vec<StoredLine>, StoreError> {
        let log = self.log(origin).await?.log;
        self.backend.lines(&Select::Range { log, indexes }, limit).await
    }

    /// Lines of one watch over all logs in log order, after a place, at most `limit`.
    pub async fn lines_of_watch(
        &self,
        watch: &WatchId,
        after: Option<&Place>,
        limit: u32,
    ) -> Result<Vec<StoredLine>, StoreError> {
        let after = match after {
            Some(place) => Some((self.log(&place.origin).await?.log, place.index)),
            None => None,
        };
        let watch = watch.clone();
        self.backend.lines(&Select::Watch { watch, after }, limit).await
    }

    /// Lines of one chain from a number, in order, at most `limit`.
    pub async fn lines_of_chain(
        &self,
        dev: DeviceId,
        watch: &WatchId,
        from_seq: u64,
        limit: u32,
    ) -> Result<Vec<StoredLine>, StoreError> {
        let watch = watch.clone();
        self.backend.lines(&Select::Chain { dev, watch, from_seq }, limit).await
    }

    /// The next number of a chain and the line it follows: where the server's own chain goes on.
    pub async fn tail(
        &self,
        dev: DeviceId,
        watch: &WatchId,
    ) -> Result<(u64, ledger::LineId), StoreError> {
        let rows = self.backend.chains(&[(dev, watch.clone())]).await?;
        Ok(rows.first().map_or((0, ledger::LineId::default()), |row| (row.next, row.last)))
    }

    /// The private line at a place.
    pub async fn private(&self, place: &Place) -> Result<PrivateLine, StoreError> {
        let log = self.log(&place.origin).await?;
        Ok(match self.backend.private(log.log, place.index).await? {
            None => PrivateLine::Absent,
            Some(None) => PrivateLine::Erased,
            Some(Some(bytes)) => PrivateLine::Here(bytes),
        })
    }

    /// The lines that are held, by chain, as the numbers they have.
    pub async fn held(&self) -> Result<Vec<(DeviceId, WatchId, u64)>, StoreError> {
        self.backend.all_held().await
    }

    /// Lines in quarantine, in the order they came, at most `limit`.
    pub async fn quarantine(&self, limit: u32) -> Result<Vec<Quarantined>, StoreError> {
        self.backend.quarantine(limit).await
    }

    pub(crate) fn backend(&self) -> &dyn Backend {
        &*self.backend
    }

    pub(crate) async fn log(&self, origin: &str) -> Result<LogRow, StoreError> {
        let logs = self.backend.logs().await?;
        let found = logs.into_iter().find(|row| &*row.origin == origin);
        found.ok_or_else(|| StoreError::NoLog { origin: origin.into() })
    }

    /// The way to write, unless this store only reads or must not write any more.
    pub(crate) fn writing(&self) -> Result<&Writing, StoreError> {
        let writing = self.writing.as_ref().ok_or(StoreError::ReadOnly)?;
        writing.dead.get().map_or(Ok(writing), |dead| Err(dead.clone()))
    }

    /// Notes an error after which nothing may be written any more.
    pub(crate) fn noted<T>(&self, result: Result<T, StoreError>) -> Result<T, StoreError> {
        if let (Some(writing), Err(error)) = (&self.writing, &result)
            && error.is_fatal()
        {
            writing.dead.get_or_init(|| error.clone());
        }
        result
    }

    async fn ask<T>(&self, ask: impl FnOnce(Reply<T>) -> Ask) -> Result<T, StoreError> {
        let (reply, answer) = oneshot::channel();
        let asked = self.writing()?.asks.send(ask(reply)).await;
        asked.map_err(|_| StoreError::Closed)?;
        answer.await.map_err(|_| StoreError::Closed)?
    }
}

/// A log as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogState {
    /// Its name.
    pub origin: Arc<str>,
    /// Its leaves.
    pub size: u64,
    /// Whether it takes lines.
    pub is_open: bool,
    /// The key of the log that its closing leaf names, which has the name of that log.
    pub next: Option<Vkey>,
}

fn closed_for(closing: &[u8]) -> Result<Vkey, StoreError> {
    match Leaf::parse(closing) {
        Ok(Leaf::Close(close)) => Ok(close.vkey),
        Ok(Leaf::Entry(_)) => Err(StoreError::damaged("a closing leaf is that of a line")),
        Err(fault) => Err(StoreError::damaged(format!("the closing leaf: {fault}"))),
    }
}

/// Tells when logs have grown.
#[derive(Debug, Clone)]
pub struct Growth(watch::Receiver<Seen>);

impl Growth {
    /// Waits until a log has grown or a head was signed since the last call.
    pub async fn wait(&mut self) -> Result<(), StoreError> {
        self.0.changed().await.map_err(|_| StoreError::Closed)
    }
}

/// Tells when something may have been committed by another process: at once where the database tells,
/// and every second, since a connection that broke loses what was told.
#[derive(Debug)]
pub struct News(Option<Box<dyn Told>>);

/// How long nobody looks without being told.
const LOOK_AT_LEAST: Duration = Duration::from_secs(1);

impl News {
    /// Waits until there may be something new.
    pub async fn wait(&mut self) -> Result<(), StoreError> {
        let Some(told) = &mut self.0 else {
            tokio::time::sleep(LOOK_AT_LEAST).await;
            return Ok(());
        };
        match tokio::time::timeout(LOOK_AT_LEAST, told.next()).await {
            Ok(told) => told,
            Err(_) => Ok(()),
        }
    }
}

pub(crate) async fn open_backend(
    options: &Options,
    write: bool,
) -> Result<(Arc<dyn Backend>, Reserve), StoreError> {
    if let Some(scheme) = options.foreign_scheme() {
        return Err(StoreError::NotOurs {
            at: format!("{scheme}://…").as_str().into(),
            says: "write postgres://USER@HOST/NAME, or the path of a file for SQLite".into(),
        });
    }
    for folder in [&options.blobs, &options.high_water] {
        std::fs::create_dir_all(folder).map_err(|error| StoreError::file(folder, &error))?;
    }
    let mut folders = vec![options.blobs.clone(), options.high_water.clone()];
    let Some(path) = options.sqlite_path() else {
        let url = &options.database;
        let backend: Arc<dyn Backend> = match write {
            true => Arc::new(PostgresStore::open(url).await?),
            false => Arc::new(PostgresStore::open_reader(url).await?),
        };
        return Ok((backend, Reserve::new(folders, options.reserve_bytes)));
    };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder).map_err(|error| StoreError::file(folder, &error))?;
    folders.push(folder.to_owned());
    let backend: Arc<dyn Backend> = if write {
        Arc::new(SqliteStore::open(path, options.vfs.as_deref()).await?)
    } else {
        Arc::new(SqliteStore::open_reader(path).await?)
    };
    Ok((backend, Reserve::new(folders, options.reserve_bytes)))
}
