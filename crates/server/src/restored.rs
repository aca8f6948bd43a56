//! A server that came back from a copy. If the copy is older than what was signed, it writes with a new
//! key, so that none of its chains has two lines at one place, says in the record what is missing, and
//! takes from the phones what they still hold, whoever wrote it.

use crate::opening::Opened;
use crate::problem::Problem;
use crate::scribe::{Statement, nobody};
use crate::server::App;
use crate::{intake, secret};
use ledger::{DeviceId, DeviceKey, WatchId};
use record::{Entry, RestoreCause, Restored};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::{fs, io};
use store::Cut;

/// In the folder of the keys: the names of the cut logs for which the key was renewed, one a line.
const RENEWED_FOR: &str = "renewed-for";

/// In the data folder, until the record says it.
const NOTE: &str = "restored";

/// Puts the server's key aside for each log that was cut since it was made.
pub(crate) fn renew_key(keys: &Path, cut: &[Cut]) -> io::Result<()> {
    let list = keys.join(RENEWED_FOR);
    let known = match fs::read_to_string(&list) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(error),
    };
    let known: BTreeSet<&str> = known.lines().collect();
    if cut.iter().all(|cut| known.contains(&*cut.origin)) {
        return Ok(());
    }
    if keys.join("device.key").exists() {
        put_aside(keys)?;
        secret::seed_file(&keys.join("device.key"))?;
    }
    // Last: a stop before this renews once more, which harms nothing.
    let names: String = cut.iter().map(|cut| format!("{}\n", cut.origin)).collect();
    let draft = list.with_extension("part");
    fs::write(&draft, names)?;
    fs::File::open(&draft)?.sync_all()?;
    fs::rename(&draft, &list)?;
    fs::File::open(keys)?.sync_all()
}

/// Puts the server's key under the next free number.
pub(crate) fn put_aside(keys: &Path) -> io::Result<()> {
    let free = (1..).map(|count| earlier_key(keys, count)).find(|path| !path.exists());
    fs::rename(keys.join("device.key"), free.expect("there are more numbers than files"))?;
    fs::File::open(keys)?.sync_all()
}

/// The keys that this server wrote with before, oldest first.
pub(crate) fn earlier_keys(keys: &Path) -> io::Result<Vec<DeviceKey>> {
    let files = (1..).map(|count| earlier_key(keys, count)).take_while(|path| path.exists());
    files.map(|path| Ok(DeviceKey::from_seed(secret::seed_file(&path)?))).collect()
}

fn earlier_key(keys: &Path, count: u32) -> PathBuf {
    keys.join(format!("device.{count}.key"))
}

/// Says in the record that the server was restored, once for each time, and what is missing.
pub(crate) async fn note(app: &App) -> Result<(), Problem> {
    let note = app.options.data.join(NOTE);
    let cut = app.logs().cut.clone();
    let mut unsaid = Vec::new();
    for lost in cut {
        let key = store::SettingKey::new(SAID, &*lost.origin);
        if app.store.setting(&key).await?.is_none() {
            unsaid.push((key, lost));
        }
    }
    if unsaid.is_empty() && !note.exists() {
        return Ok(());
    }
    let mut statements: Vec<Statement> = Vec::new();
    for (_, lost) in &unsaid {
        let (log, signed) = (Some(lost.origin.to_string()), Some(lost.high_water));
        statements
            .push(Restored { cause: RestoreCause::Backup, size: lost.size, log, signed }.into());
    }
    if statements.is_empty() {
        let size = app.store.head(&app.origin()).await?.size;
        let entry = Restored { cause: RestoreCause::Backup, size, log: None, signed: None };
        statements.push(entry.into());
    } else {
        // Whoever reads one of these watches must learn that lines of it may be missing.
        for watch in running(app) {
            app.scribe.write(app, &watch, &nobody(), statements.clone()).await?;
        }
    }
    app.scribe.write(app, &WatchId::org(), &nobody(), statements).await?;
    for (key, _) in unsaid {
        app.store.write_setting(&key, &true, store::Expect::Anything).await?;
    }
    crate::second::restored(app).await?;
    match fs::remove_file(&note) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            Err(Problem::Machine(error.to_string()))
        }
        _ => Ok(()),
    }
}

/// Settings: the cut logs of which the record says that they were cut.
const SAID: &str = "cut-logs-said";

fn running(app: &App) -> Vec<WatchId> {
    let (book, now_ms) = (app.book(), app.clock.now_ms());
    let running = book
        .watches()
        .filter(|(_, live)| live.about(now_ms).is_some_and(|it| it.released().is_none()));
    running.map(|(id, _)| id.clone()).collect()
}

/// Whether lines were lost here, so that phones may bring what others wrote.
pub(crate) fn refills(app: &App) -> bool {
    !app.logs().cut.is_empty()
}

/// A phone that was let in brings lines of a watch of which the copy knows nothing: it had a part in it.
pub(crate) async fn let_in_again(app: &App, dev: DeviceId, watch: &WatchId) -> Result<(), Problem> {
    if watch.is_org() || app.book().watch(watch).is_some() || app.book().may(dev, watch) {
        return Ok(());
    }
    let watches = {
        let mut book = app.book_mut();
        let Some(known) = book.device_mut(dev) else { return Ok(()) };
        let Some(watches) = &mut known.watches else { return Ok(()) };
        watches.insert(watch.clone());
        watches.clone()
    };
    let grant = intake::Grant { watches: Some(watches) };
    app.settings.put(&dev.to_string(), &grant).await
}

/// A watch that came back by its lines is in the list of watches again.
pub(crate) async fn list_again(app: &App, line: &ledger::Line) -> Result<(), Problem> {
    if line.kind != "watch_opened"
        || app.settings.get::<Opened>(line.watch.as_str()).await?.is_some()
    {
        return Ok(());
    }
    let Ok(Entry::WatchOpened(body)) = Entry::of(line) else { return Ok(()) };
    let opened = Opened { site: body.site, by: line.who.clone() };
    app.settings.put(line.watch.as_str(), &opened).await
}
