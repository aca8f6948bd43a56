//! What all requests share, and how it is built again from the store at every start.

use crate::account::passkeys::Passkeys;
use crate::book::Book;
use crate::clock::Clock;
use crate::delivery::push::PushKey;
use crate::delivery::ways::Ways;
use crate::enrolment::Tokens;
use crate::handing_on::{self, Way};
use crate::house::{self, House};
use crate::limits::Limits;
use crate::nightly::LastScrub;
use crate::noting::Noted;
use crate::options::{Options, StartError};
use crate::packing::log_key;
use crate::reached_at::Site;
use crate::scribe::Scribe;
use crate::settings::Settings;
use crate::succession::{self, Logs};
use crate::twice::Presses;
use crate::{intake, keys, secret};
use ledger::{DeviceKey, HeadRef, LogKey, SignedHead, WatchId};
use std::net::SocketAddr;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, RwLock, RwLockReadGuard, RwLockWriteGuard};
use std::time::Duration;
use std::{fs, io};
use store::{ReceivedAt, Store, StoreError};
use tokio::sync::broadcast;

/// The server as requests and tasks share it.
pub type App = Arc<Server>;

/// Build id, as lines state it.
pub(crate) const APP: &str = concat!("server ", env!("CARGO_PKG_VERSION"));

/// Something has changed: a watch, or (none) people, devices, settings.
#[derive(Debug, Clone)]
pub(crate) struct News(pub(crate) Option<WatchId>);

/// The server.
pub struct Server {
    /// The clocks; tests move them forward.
    pub clock: Clock,
    pub(crate) options: Options,
    pub(crate) site: Site,
    pub(crate) store: Store,
    pub(crate) settings: Settings,
    pub(crate) limits: Limits,
    pub(crate) presses: Presses,
    pub(crate) noted: Noted,
    pub(crate) passkeys: Passkeys,
    pub(crate) scribe: Scribe,
    pub(crate) tokens: Tokens,
    pub(crate) news: broadcast::Sender<News>,
    /// For webhooks and push: never follows where an answer points.
    pub(crate) http: reqwest::Client,
    pub(crate) push_key: PushKey,
    /// Something new is in the outbox.
    pub(crate) outbox: tokio::sync::Notify,
    pub(crate) ways: Ways,
    /// To the server that leads, while this one stands by.
    pub(crate) way: Way,
    /// This server stands by and could not take over: its keys are too old.
    pub(crate) lacks_key: AtomicBool,
    /// True once the server stops.
    pub(crate) ending: tokio::sync::watch::Sender<bool>,
    /// One at a time brings a watch back that was put away.
    pub(crate) bringing_back: tokio::sync::Mutex<()>,
    /// One at a time closes a log and opens the next.
    pub(crate) turning: tokio::sync::Mutex<()>,
    logs: RwLock<Arc<Logs>>,
    last_scrub: RwLock<Option<LastScrub>>,
    book: RwLock<Book>,
    house: RwLock<Arc<House>>,
    begin_link: Mutex<Option<String>>,
    seed: [u8; 32],
    /// Another server leads: this one only reads.
    pub(crate) stands_by: bool,
}

impl std::fmt::Debug for Server {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Server").field("origin", &self.origin()).finish_non_exhaustive()
    }
}

impl Server {
    /// Opens the folder and builds everything that is derived from the record. `local` is the
    /// address that is really listened on.
    pub(crate) async fn open(
        options: Options,
        local: SocketAddr,
        store: Store,
    ) -> Result<App, StartError> {
        make_folder(&options.data)?;
        let keys = options.data.join("keys");
        make_folder(&keys)?;
        // Before anything is signed with them.
        if let Some(lack) = keys::lack(&store, &keys).await? {
            return Err(lack.error(&keys));
        }
        crate::restored::renew_key(&keys, &store.cut().await?)?;
        let app = Server::assemble(options, local, store, false).await?;
        intake::rebuild(&app).await.map_err(|p| StartError::Record(p.to_string()))?;
        app.scribe.enrol_itself(&app).await.map_err(|p| StartError::Record(p.to_string()))?;
        crate::restored::note(&app).await.map_err(|p| StartError::Record(p.to_string()))?;
        crate::second::finish(&app).await.map_err(|p| StartError::Record(p.to_string()))?;
        if app.options.database.is_some() {
            let said = handing_on::say_who_leads(&app).await;
            said.map_err(|p| StartError::Record(p.to_string()))?;
        }
        let link = crate::account::begin::first_link(&app).await;
        let link = link.map_err(|p| StartError::Record(p.to_string()))?;
        *app.begin_link.lock().expect("nothing panics under this lock") = link;
        Ok(app)
    }

    /// As [`Server::open`], beside another server that leads: for answers to what is only read. Nothing is
    /// written.
    pub(crate) async fn open_reader(
        options: Options,
        local: SocketAddr,
        store: Store,
    ) -> Result<App, StartError> {
        let app = Server::assemble(options, local, store, true).await?;
        intake::rebuild(&app).await.map_err(|p| StartError::Record(p.to_string()))?;
        crate::alerts::look_only(&app).await;
        Ok(app)
    }

    async fn assemble(
        options: Options,
        local: SocketAddr,
        store: Store,
        stands_by: bool,
    ) -> Result<App, StartError> {
        let site = Site::of(&options, local)?;
        let keys = options.data.join("keys");
        let device = DeviceKey::from_seed(secret::seed_file(&keys.join("device.key"))?);
        let earlier = crate::restored::earlier_keys(&keys)?;
        let seed = secret::seed_file(&keys.join("log.key"))?;
        let clock = Clock::start(secret::id("b"));
        clock.advance(options.ahead);
        let logs = match stands_by {
            true => succession::read(&store).await?,
            false => succession::open(&store, &site, &options, clock.now_ms(), seed).await?,
        };
        let settings = Settings::of(&store);
        let house = settings.get::<House>(house::KEY).await;
        let house = house.map_err(|p| StartError::Record(p.to_string()))?.unwrap_or_default();
        Ok(Arc::new(Server {
            clock,
            passkeys: Passkeys::of(&site),
            site,
            settings,
            limits: Limits::default(),
            presses: Presses::default(),
            noted: Noted::default(),
            scribe: Scribe::new(device, earlier),
            tokens: Tokens::default(),
            news: broadcast::channel(1024).0,
            http: http()?,
            push_key: PushKey::from_seed(secret::seed_file(&keys.join("push.key"))?)
                .ok_or_else(|| StartError::Record("keys/push.key is no key: remove it".into()))?,
            outbox: tokio::sync::Notify::new(),
            ways: Ways::default(),
            way: Way::default(),
            lacks_key: AtomicBool::new(false),
            ending: tokio::sync::watch::channel(false).0,
            bringing_back: tokio::sync::Mutex::new(()),
            turning: tokio::sync::Mutex::new(()),
            logs: RwLock::new(Arc::new(logs)),
            last_scrub: RwLock::default(),
            book: RwLock::new(Book::default()),
            house: RwLock::new(Arc::new(house)),
            begin_link: Mutex::new(None),
            seed,
            stands_by,
            store,
            options,
        }))
    }

    /// The one-time link to the first account, while there is none.
    pub fn begin_link(&self) -> Option<String> {
        self.begin_link.lock().expect("nothing panics under this lock").clone()
    }

    /// The address that people use, without a slash at the end.
    pub fn public(&self) -> &str {
        &self.site.public
    }

    /// The name of the log that takes lines in now.
    pub(crate) fn origin(&self) -> Arc<str> {
        self.logs().current.clone()
    }

    /// The logs of the house.
    pub(crate) fn logs(&self) -> Arc<Logs> {
        self.logs.read().expect("nothing panics under this lock").clone()
    }

    /// Reads again which logs there are, after the server that leads may have opened another.
    pub(crate) async fn follow_logs(&self) -> Result<(), StoreError> {
        match succession::read(&self.store).await {
            Ok(logs) => self.set_logs(logs),
            Err(StartError::Store(error)) => return Err(error),
            Err(error) => tracing::warn!(%error, "the logs cannot be read"),
        }
        Ok(())
    }

    pub(crate) fn set_logs(&self, logs: Logs) {
        *self.logs.write().expect("nothing panics under this lock") = Arc::new(logs);
    }

    /// What the newest scrub came to; none before the first.
    pub(crate) fn last_scrub(&self) -> Option<LastScrub> {
        self.last_scrub.read().expect("nothing panics under this lock").clone()
    }

    pub(crate) fn set_scrub(&self, scrub: LastScrub) {
        *self.last_scrub.write().expect("nothing panics under this lock") = Some(scrub);
    }

    /// The live watches and known devices.
    pub(crate) fn book(&self) -> RwLockReadGuard<'_, Book> {
        self.book.read().expect("nothing panics under this lock")
    }

    /// As [`Server::book`], to write in.
    pub(crate) fn book_mut(&self) -> RwLockWriteGuard<'_, Book> {
        self.book.write().expect("nothing panics under this lock")
    }

    /// The house.
    pub(crate) fn house(&self) -> Arc<House> {
        self.house.read().expect("nothing panics under this lock").clone()
    }

    pub(crate) fn set_house(&self, house: House) {
        *self.house.write().expect("nothing panics under this lock") = Arc::new(house);
    }

    /// Now, as the log states it.
    pub(crate) fn received_now(&self) -> ReceivedAt {
        ReceivedAt { ms: self.clock.now_ms(), error_ms: crate::clock::ERROR_MS }
    }

    /// The key that signs heads.
    pub(crate) fn log_key(&self) -> LogKey {
        log_key(&self.origin(), self.seed)
    }

    /// From which the keys of all logs of this house are made.
    pub(crate) fn log_seed(&self) -> [u8; 32] {
        self.seed
    }

    /// Signs the head of everything that is committed.
    pub(crate) async fn publish(&self) -> Result<SignedHead, StoreError> {
        let origin = self.origin();
        let key = log_key(&origin, self.seed);
        self.store.publish(&origin, move |head| head.sign(&key)).await
    }

    /// The newest head that has leaves, as lines quote it: of this log, else of the one before.
    pub(crate) async fn newest_head(&self) -> Result<Option<HeadRef>, StoreError> {
        let logs = self.logs();
        for origin in logs.newest_first() {
            let Ok(head) = self.store.published(origin).await else { continue };
            if let Some(head) = head.filter(|head| head.claimed().size > 0) {
                return Ok(Some(head.claimed().quoted()));
            }
        }
        Ok(None)
    }

    /// A device has spoken with us just now. If it was out of touch, what it stands for is looked at.
    pub(crate) fn heard(&self, device: ledger::DeviceId) {
        let now_ms = self.clock.now_ms();
        let mut book = self.book_mut();
        let was_out = !book.in_touch(device, now_ms);
        if let Some(known) = book.device_mut(device) {
            known.heard_ms = Some(now_ms);
        }
        if was_out {
            let ids: Vec<WatchId> = book
                .watches()
                .filter(|(id, live)| live.fold.is_some() && book.may(device, id))
                .map(|(id, _)| id.clone())
                .collect();
            ids.iter().for_each(|id| book.plan_look(id, now_ms));
        }
    }

    /// Ends every event stream, so that the server can stop.
    pub(crate) fn end_streams(&self) {
        self.ending.send_replace(true);
    }

    /// Tells every open page.
    pub(crate) fn tell(&self, watch: Option<WatchId>) {
        // Nobody listening is no fault.
        let _ = self.news.send(News(watch));
    }
}

/// Opens the store. Of several servers on one PostgreSQL one orders the lines; the others stand by until
/// it is gone.
pub(crate) async fn open_store(options: &Options) -> Result<Store, StartError> {
    if options.database.is_some() && !options.restored {
        return crate::standing_by::until_it_leads(options).await;
    }
    match options.restored {
        true => Ok(Store::open_restored(&options.store()).await.map(|(store, _)| store)?),
        false => Ok(Store::open(&options.store()).await?),
    }
}

/// A receiver that says nothing for so long is not there.
const HTTP_TIMEOUT: Duration = Duration::from_secs(10);

fn http() -> Result<reqwest::Client, StartError> {
    // Whoever came first has chosen the same provider: there is one in the program.
    let _ = rustls::crypto::ring::default_provider().install_default();
    reqwest::Client::builder()
        .timeout(HTTP_TIMEOUT)
        .redirect(reqwest::redirect::Policy::none())
        .user_agent(APP.replace(' ', "/"))
        .build()
        .map_err(|error| StartError::Record(format!("no HTTP client: {error}")))
}

pub(crate) fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)?;
    #[cfg(unix)]
    fs::set_permissions(path, std::os::unix::fs::PermissionsExt::from_mode(0o700))?;
    Ok(())
}
