//! A house as an earlier version left it, opened by this one: nothing of it changes, everything of it
//! is there, and its phones go on.
//!
//! `fixtures/kept/VERSION/` is the data folder that the program of that version left behind, byte for
//! byte, `VERSION.sql` the same house as it moved it into PostgreSQL, and `VERSION.json` beside them says
//! what was in it. They are made once, by the version itself
//! (`RATTLEWATCH_WRITE=1 cargo test -p rattlewatch-server --test earlier`), and never again.

mod stage;

#[path = "../../store/tests/conformance/cluster.rs"]
mod cluster;
#[path = "earlier/dumped.rs"]
mod dumped;

use ledger::{HeadRef, LineId, WatchId};
use phone::sync::Is;
use record::{Asked, Note, Words};
use reqwest::{Client, StatusCode, redirect};
use serde_json::{Value, json};
use server::Options;
use sheet::GrayPicture;
use stage::{PASSWORD, Phone, Stage, between, cookie, location, options};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempDir;

const PHONE: u8 = 61;
const SECRET: &str = "Mr. Almond in flat 9 said so.";

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/kept")
}

/// The versions that left a house, by name.
fn versions() -> BTreeSet<String> {
    let entries = fs::read_dir(fixtures()).unwrap().map(|entry| entry.unwrap().path());
    entries
        .filter(|path| path.is_dir())
        .map(|path| path.file_name().unwrap().to_str().unwrap().to_owned())
        .collect()
}

fn copy_tree(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap().path();
        let target = to.join(entry.file_name().unwrap());
        if entry.is_dir() {
            copy_tree(&entry, &target);
        } else {
            fs::copy(&entry, target).unwrap();
        }
    }
}

/// What is asked of every earlier house, and noted of it when it is made.
async fn noted(stage: &Stage, watches: &[(&WatchId, &str)], phone: &Phone) -> Value {
    let mut said = Vec::new();
    for (watch, site) in watches {
        let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
        let opened = bundle::open(&zip);
        assert!(opened.verdict.ok, "{:?}", opened.verdict.faults);
        let lines: Vec<LineId> = opened.lines.iter().map(|sealed| sealed.line.id()).collect();
        let blobs: Vec<_> = opened.blobs.keys().collect();
        said.push(json!({ "watch": watch, "site": site, "lines": lines, "blobs": blobs }));
    }
    json!({ "login": "rosa", "watches": said, "phone": phone.kept() })
}

/// One released watch with a photo and erased words, one that still runs, a person beside the first
/// account, a ladder of alerts and a guest's link.
async fn furnish(stage: &mut Stage) -> (WatchId, WatchId, Phone) {
    stage.ladder(&[("wait_rota", "9")]).await;
    let second = keeper(stage).await;
    let (done, path) = stage.open_at("Gannet Quay", "").await;
    let mut phone = stage.phone_in(&path, PHONE).await;
    phone.begins(&done);
    phone.sees(&done, "floor-1");
    phone.observes(&done, "floor-2");
    phone.write(&done, Asked { of: None }, Words::from_text("May I close the roof door?"));
    let secret = phone.write(&done, Note { of: None }, Words::from_text(SECRET)).to_string();
    phone.sync().await;
    let page = format!("/watch/{done}");
    let paper = GrayPicture::plain(30, 40, 230).to_png();
    let pages = format!("{page}/pages");
    let brought = stage.send_file(&pages, &[], ("picture", "a.png"), &paper).await;
    assert_eq!(brought.status(), StatusCode::SEE_OTHER);
    erase(stage, &second, &done, &secret).await;
    let guest = [("role", "inspector"), ("whom", "T. Arden, fire marshal"), ("hours", "24")];
    assert!(stage.post(&format!("{page}/links"), &guest).await.status().is_success());
    let release = [("by", "client"), ("written", "true"), ("words", "Alarm works again.")];
    let released = stage.post(&format!("{page}/release"), &release).await;
    assert_eq!(released.status(), StatusCode::SEE_OTHER);
    let (runs, path) = stage.open_at("Gannet Hotel", "").await;
    let mut other = stage.phone_in(&path, PHONE + 1).await;
    other.begins(&runs);
    other.sees(&runs, "floor-1");
    other.sync().await;
    (done, runs, other)
}

/// A keeper beside the proprietor, and their cookie.
async fn keeper(stage: &Stage) -> String {
    let person = [("name", "Kai Ortiz"), ("number", ""), ("language", "en"), ("role", "keeper")];
    let path = location(&stage.post("/people", &person).await);
    let page = stage.post(&format!("{path}/invite"), &[]).await.text().await.unwrap();
    let link = between(&page, "/begin/", "<").unwrap();
    let form = [("login", "kai"), ("password", PASSWORD)];
    cookie(&stage.post(&format!("/begin/{link}"), &form).await)
}

async fn erase(stage: &mut Stage, second: &str, watch: &WatchId, line: &str) {
    let form = [("line", line), ("why", "Asked for in writing.")];
    let asked = stage.post(&format!("/watch/{watch}/erase"), &form).await;
    assert_eq!(asked.status(), StatusCode::SEE_OTHER);
    let page = stage.page("/second").await;
    let act = between(&page, "action=\"/second/t-", "/").unwrap();
    let first = std::mem::replace(&mut stage.cookie, second.to_owned());
    let done = stage.post(&format!("/second/t-{act}/confirm"), &[]).await;
    assert_eq!(done.status(), StatusCode::SEE_OTHER);
    stage.cookie = first;
}

/// Made by the version itself, once; an older house is never written over.
async fn leave_a_house(version: &str) {
    let folder = fixtures().join(version);
    if folder.exists() {
        println!("{} is there already and is kept for good", folder.display());
        return;
    }
    let mut stage = Stage::new().await;
    let (done, runs, phone) = furnish(&mut stage).await;
    let watches = [(&done, "Gannet Quay"), (&runs, "Gannet Hotel")];
    let said = noted(&stage, &watches, &phone).await;
    // A head is kept a second after it was signed at the latest.
    tokio::time::sleep(Duration::from_millis(1_300)).await;
    stage.running.stop().await;
    copy_tree(stage.folder.path(), &folder);
    let mut text = serde_json::to_string_pretty(&said).unwrap();
    text.push('\n');
    fs::write(fixtures().join(format!("{version}.json")), text).unwrap();
}

/// A copy of the house that a version left, in a folder or in a database of its own.
async fn copied(version: &str, engine: Engine) -> (TempDir, Options) {
    let folder = tempfile::tempdir().unwrap();
    copy_tree(&fixtures().join(version), folder.path());
    let mut options = options(folder.path());
    if engine == Engine::PostgreSql {
        fs::remove_file(folder.path().join("record.db")).unwrap();
        let dump = fs::read_to_string(fixtures().join(format!("{version}.sql"))).unwrap();
        options.database = Some(dumped::loaded(&dump).await);
    }
    (folder, options)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Engine {
    Sqlite,
    PostgreSql,
}

/// Opens a copy of the house that a version left, and signs in.
async fn open(version: &str, engine: Engine, said: &Value) -> Stage {
    let (folder, options) = copied(version, engine).await;
    let store = options.store();
    let running = server::serve(options).await.unwrap();
    assert!(running.app.begin_link().is_none(), "the house has its accounts");
    let client = Client::builder().redirect(redirect::Policy::none()).build().unwrap();
    let mut stage = Stage { folder, store, running, client, cookie: String::new(), asks: None };
    let form = [("login", said["login"].as_str().unwrap()), ("password", PASSWORD)];
    stage.cookie = cookie(&stage.post("/sign-in", &form).await);
    stage
}

#[tokio::test(flavor = "multi_thread")]
async fn every_earlier_house_is_opened_whole_and_goes_on() {
    let now = env!("CARGO_PKG_VERSION");
    if std::env::var_os("RATTLEWATCH_WRITE").is_some() {
        leave_a_house(now).await;
        dumped::dump(&fixtures().join(now), &fixtures().join(format!("{now}.sql"))).await;
    }
    let versions = versions();
    assert!(versions.contains(now), "this version leaves no house: see CONTRIBUTING.md, a release");
    for version in versions {
        let said = fs::read(fixtures().join(format!("{version}.json"))).unwrap();
        let said: Value = serde_json::from_slice(&said).unwrap();
        for engine in [Engine::Sqlite, Engine::PostgreSql] {
            nothing_is_changed(&version, engine, &said).await;
            everything_is_there(&version, engine, &said).await;
            a_backup_of_it_is_the_same(&version, engine, &said).await;
        }
    }
}

fn head(said: &Value) -> HeadRef {
    serde_json::from_value(said["phone"]["head"].clone()).unwrap()
}

/// The log leads to the head that a phone of that time verified, and the store finds no fault.
async fn holds(options: &Options, said: &Value) {
    let store = store::Store::open(&options.store()).await.unwrap();
    let head = head(said);
    assert_eq!(store.root_at(&head.origin, head.size).await.unwrap(), head.root);
    let published = store.published(&head.origin).await.unwrap().expect("a signed head");
    assert!(published.claimed().size >= head.size);
    let scrubbed = store.scrub().await.unwrap();
    assert_eq!(scrubbed.faults, []);
    assert!(scrubbed.lines >= head.size && scrubbed.blobs > 0);
    store.close().await;
}

async fn nothing_is_changed(version: &str, engine: Engine, said: &Value) {
    let (_folder, options) = copied(version, engine).await;
    holds(&options, said).await;
}

async fn everything_is_there(version: &str, engine: Engine, said: &Value) {
    let stage = open(version, engine, said).await;
    for watch in said["watches"].as_array().unwrap() {
        let id = watch["watch"].as_str().unwrap();
        let page = stage.page(&format!("/watch/{id}")).await;
        assert!(page.contains(watch["site"].as_str().unwrap()), "{version}: {id}");
        let zip = stage.get(&format!("/watch/{id}/bundle")).await.bytes().await.unwrap();
        let opened = bundle::open(&zip);
        assert!(opened.verdict.ok, "{version}: {:?}", opened.verdict.faults);
        let inside: Vec<LineId> = opened.lines.iter().map(|sealed| sealed.line.id()).collect();
        let lines: Vec<LineId> = serde_json::from_value(watch["lines"].clone()).unwrap();
        assert!(lines.iter().all(|line| inside.contains(line)), "{version}: {id} lost a line");
        for blob in watch["blobs"].as_array().unwrap() {
            let named = serde_json::from_value(blob.clone()).unwrap();
            assert!(opened.blobs.contains_key(&named), "{version}: {blob}");
        }
        let private = opened.lines.iter().filter_map(|sealed| sealed.private.as_deref());
        let erased = !private.map(String::from_utf8_lossy).any(|words| words.contains("Almond"));
        assert!(erased, "{version}: what was erased stays erased");
    }
    assert!(stage.page("/people").await.contains("Kai Ortiz"));
    assert!(stage.page("/alerts").await.contains("value=\"9\""), "the ladder is kept");
    the_phone_goes_on(&stage, said).await;
    stage.running.stop().await;
}

/// The phone of that time: its key is still known, its chain goes on, and the new head leads on
/// from the one that it verified.
async fn the_phone_goes_on(stage: &Stage, said: &Value) {
    let mut phone = Phone::again(stage.url(), PHONE + 1, &said["phone"]);
    phone.now_ms = stage.running.app.clock.now_ms();
    let watches = said["watches"].as_array().unwrap();
    let runs = watches.last().unwrap()["watch"].as_str().unwrap();
    phone.sees(&WatchId::new(runs).unwrap(), "floor-2");
    let read = phone.sync().await;
    assert!(read.outcomes.iter().all(|outcome| outcome.is == Is::Received), "{:?}", read.outcomes);
    assert!(phone.waiting.is_empty(), "it has its receipt");
    assert!(phone.head.as_ref().unwrap().size > head(said).size);
}

async fn a_backup_of_it_is_the_same(version: &str, engine: Engine, said: &Value) {
    let (_folder, from) = copied(version, engine).await;
    let copy = tempfile::tempdir().unwrap();
    let to = options(copy.path());
    store::back_up(&from.store(), &to.store()).await.unwrap();
    holds(&to, said).await;
}
