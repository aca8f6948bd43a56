//! The server's own lines: it is one more device, with a chain for every watch.

use crate::intake::Whose;
use crate::problem::Problem;
use crate::server::{APP, App};
use crate::{intake, secret};
use ledger::{Auth, DeviceId, DeviceKey, LineId, PersonId, PublicKey, Verified, WatchId};
use record::{Draft, Enrolled, Entry, KeyKept, Place, Rekeyed, Role, Words};
use std::sync::{Arc, RwLock};
use store::Incoming;

/// Writes the server's lines, one batch at a time, so that its chains never fork.
pub(crate) struct Scribe {
    keys: RwLock<Arc<Keys>>,
    /// Keys of which the record says that they came after ours, while another server led.
    later: RwLock<Vec<PublicKey>>,
    turn: tokio::sync::Mutex<()>,
}

/// The server's keys.
struct Keys {
    current: DeviceKey,
    /// Keys that this server wrote with before it was restored from an older copy or its key was
    /// renewed, oldest first.
    earlier: Vec<DeviceKey>,
}

/// What to write.
#[derive(Debug, Clone)]
pub(crate) struct Statement {
    pub(crate) entry: Entry,
    pub(crate) words: Words,
}

impl<E: Into<Entry>> From<E> for Statement {
    fn from(entry: E) -> Statement {
        Statement { entry: entry.into(), words: Words::default() }
    }
}

impl Statement {
    /// With words that stay erasable.
    pub(crate) fn with(entry: impl Into<Entry>, words: Words) -> Statement {
        Statement { entry: entry.into(), words }
    }
}

impl Scribe {
    pub(crate) fn new(current: DeviceKey, earlier: Vec<DeviceKey>) -> Scribe {
        let keys = RwLock::new(Arc::new(Keys { current, earlier }));
        Scribe { keys, later: RwLock::default(), turn: tokio::sync::Mutex::new(()) }
    }

    fn keys(&self) -> Arc<Keys> {
        self.keys.read().expect("nothing panics under this lock").clone()
    }

    /// Writes with another key from here on. Nothing is being written while `change` runs.
    pub(crate) async fn change<E>(
        &self,
        change: impl FnOnce() -> Result<(DeviceKey, Vec<DeviceKey>), E>,
    ) -> Result<(), E> {
        let _turn = self.turn.lock().await;
        let (current, earlier) = change()?;
        *self.keys.write().expect("nothing panics under this lock") =
            Arc::new(Keys { current, earlier });
        Ok(())
    }

    /// The record says that a key of this house handed over to another.
    pub(crate) fn learn(&self, key: PublicKey) {
        if !self.is_ours(key.device()) {
            self.later.write().expect("nothing panics under this lock").push(key);
        }
    }

    /// The server's device.
    pub(crate) fn device(&self) -> DeviceId {
        self.keys().current.device()
    }

    /// Its key.
    pub(crate) fn public(&self) -> PublicKey {
        self.keys().current.public()
    }

    /// The device that it began with, which vouched for every later one.
    pub(crate) fn first_device(&self) -> DeviceId {
        let keys = self.keys();
        keys.earlier.first().unwrap_or(&keys.current).device()
    }

    /// Its key, those that it had before, and those that came after it.
    pub(crate) fn all_keys(&self) -> impl Iterator<Item = PublicKey> + use<> {
        let keys = self.keys();
        let all = std::iter::once(&keys.current).chain(&keys.earlier).map(DeviceKey::public);
        let later = self.later.read().expect("nothing panics under this lock");
        all.chain(later.iter().copied()).collect::<Vec<_>>().into_iter()
    }

    /// Whether this server wrote with that device at some time.
    pub(crate) fn is_ours(&self, dev: DeviceId) -> bool {
        self.all_keys().any(|key| key.device() == dev)
    }

    /// Signs, appends and folds statements of one watch, in order, all or none. `who` states them:
    /// the person at the desk, or [`nobody`] for what the server does by itself.
    pub(crate) async fn write(
        &self,
        app: &App,
        watch: &WatchId,
        who: &PersonId,
        statements: Vec<Statement>,
    ) -> Result<Vec<LineId>, Problem> {
        let _turn = self.turn.lock().await;
        self.append(app, who, vec![(watch.clone(), statements)]).await
    }

    /// As [`Scribe::write`]; what to write is decided when it is our turn, so that two tasks that
    /// see the same need do not both write it. Nothing is decided about a watch of which the log may have lines
    /// that are not folded: what stands there already would be written twice.
    pub(crate) async fn write_if(
        &self,
        app: &App,
        watch: &WatchId,
        who: &PersonId,
        decide: impl FnOnce() -> Vec<Statement>,
    ) -> Result<Vec<LineId>, Problem> {
        crate::shelf::bring_back(app, watch).await?;
        self.write_all_if(app, who, || vec![(watch.clone(), decide())]).await
    }

    /// As [`Scribe::write_if`], for several watches in one append.
    pub(crate) async fn write_all_if(
        &self,
        app: &App,
        who: &PersonId,
        decide: impl FnOnce() -> Vec<(WatchId, Vec<Statement>)>,
    ) -> Result<Vec<LineId>, Problem> {
        let _turn = self.turn.lock().await;
        intake::catch_up(app).await;
        let decided = decide();
        let behind = |(watch, _): &&(WatchId, _)| app.book().behind.contains_key(watch);
        if let Some((watch, _)) = decided.iter().find(behind) {
            return Err(Problem::Machine(format!("the log of {watch} cannot be read just now")));
        }
        self.append(app, who, decided).await
    }

    /// Folds what the log has and the book may lack.
    pub(crate) async fn catch_up(&self, app: &App) {
        let _turn = self.turn.lock().await;
        intake::catch_up(app).await;
    }

    /// Whoever calls has the turn.
    async fn append(
        &self,
        app: &App,
        who: &PersonId,
        mut decided: Vec<(WatchId, Vec<Statement>)>,
    ) -> Result<Vec<LineId>, Problem> {
        decided.retain(|(_, statements)| !statements.is_empty());
        if decided.is_empty() {
            return Ok(Vec::new());
        }
        let keys = self.keys();
        let dev = keys.current.device();
        let head = app.newest_head().await?;
        let mut lines = Vec::new();
        for (watch, statements) in decided {
            let (seq, prev) = app.store.tail(dev, &watch).await?;
            let mut naming = unnamed(app, &watch, who);
            let mut place = Place { dev, watch, seq, prev };
            for Statement { entry, mut words } in statements {
                words.names.extend(naming.take().map(|name| (record::WHO.to_owned(), name)));
                let draft = Draft {
                    who: who.clone(),
                    auth: Auth::Device,
                    clk: app.clock.clk(),
                    head: head.clone(),
                    app: APP.to_owned(),
                    entry,
                    words,
                    salt: secret::random(),
                };
                let incoming = sign(&keys.current, &draft, &place)?;
                place = place.after(incoming.line.id());
                lines.push(incoming);
            }
        }
        let ids = lines.iter().map(|incoming| incoming.line.id()).collect();
        intake::take_in(app, lines, Whose::Own).await?;
        Ok(ids)
    }

    /// The first line of the server's own `org` chain states its key. If there was another key before,
    /// that one hands over first: the one line that it writes after its chain was cut.
    pub(crate) async fn enrol_itself(&self, app: &App) -> Result<(), Problem> {
        let org = WatchId::org();
        let (next, _) = app.store.tail(self.device(), &org).await?;
        if next > 0 {
            return Ok(());
        }
        self.hand_on(app).await?;
        let entry = Enrolled {
            device: self.device(),
            key: self.public(),
            keep: KeyKept::Server,
            role: Role::Server,
            person: None,
            token: None,
            by: Some(nobody()),
        };
        self.write(app, &org, &nobody(), vec![entry.into()]).await.map(|_| ())
    }

    /// The newest key of which the record knows vouches for every later one: also for a key whose own
    /// beginning was lost with the end of a log, for its lines come back from the phones.
    async fn hand_on(&self, app: &App) -> Result<(), Problem> {
        let org = WatchId::org();
        let mut later = vec![self.public()];
        let keys = self.keys();
        for before in keys.earlier.iter().rev() {
            if app.store.tail(before.device(), &org).await?.0 == 0 {
                later.push(before.public());
                continue;
            }
            for key in later.into_iter().rev() {
                let (seq, prev) = app.store.tail(before.device(), &org).await?;
                let place = Place { dev: before.device(), watch: org.clone(), seq, prev };
                self.hand_over(app, before, key, &place).await?;
            }
            break;
        }
        Ok(())
    }

    async fn hand_over(
        &self,
        app: &App,
        before: &DeviceKey,
        key: PublicKey,
        at: &Place,
    ) -> Result<(), Problem> {
        let _turn = self.turn.lock().await;
        let draft = Draft {
            who: nobody(),
            auth: Auth::Device,
            clk: app.clock.clk(),
            head: app.newest_head().await?,
            app: APP.to_owned(),
            entry: Rekeyed { key, keep: KeyKept::Server }.into(),
            words: Words::default(),
            salt: secret::random(),
        };
        intake::take_in(app, vec![sign(before, &draft, at)?], Whose::Own).await.map(|_| ())
    }
}

/// The name of somebody at the desk, for the first line that they write in a watch: a bundle has nothing else that
/// tells its readers who `p-7` is. In the private line, so that it can be erased.
fn unnamed(app: &App, watch: &WatchId, who: &PersonId) -> Option<String> {
    let book = app.book();
    let name = book.people.get(who).filter(|_| !watch.is_org())?.name.clone();
    let names = |line: &watch::Kept| {
        let words = line.words.as_ref().filter(|_| line.by == *who);
        words.is_some_and(|words| words.names.get(record::WHO) == Some(&name))
    };
    let fold = book.watch(watch).and_then(|live| live.fold.as_ref());
    let named = fold.is_some_and(|fold| fold.lines().any(names));
    (!named).then_some(name)
}

fn sign(key: &DeviceKey, draft: &Draft, place: &Place) -> Result<Incoming, Problem> {
    let too_long = |fault: ledger::CanonicalFault| Problem::Bad(fault.to_string());
    let (line, private) = draft.line(place).map_err(too_long)?;
    let signed = line.sign(key).map_err(too_long)?;
    let line = Verified::check(signed, &key.public())
        .map_err(|fault| Problem::Machine(format!("our own line: {fault}")))?;
    let private = private.map(|private| private.to_bytes()).transpose().map_err(too_long)?;
    Ok(Incoming { line, private })
}

/// Who states what the server does by itself.
pub(crate) fn nobody() -> PersonId {
    PersonId::new("server").expect("a plain word is an id")
}
