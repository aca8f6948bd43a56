//! A watch over New Year: the log of the old year is closed, the next takes lines in, phones follow, and
//! the bundle holds both.

mod stage;

use ledger::LogKey;
use phone::sync::{Is, Request, WatchFrom};
use server::Options;
use stage::{Phone, Stage};
use std::path::Path;
use std::process::Command;
use std::time::Duration;
use store::{ReceivedAt, Store};

/// Ten minutes before the next New Year (UTC) by the server's clock.
fn new_years_eve(options: &mut Options) {
    let now = jiff::Timestamp::now().in_tz("UTC").unwrap();
    let midnight = jiff::civil::date(now.year() + 1, 1, 1).in_tz("UTC").unwrap().timestamp();
    let left_s = midnight.as_second() - now.timestamp().as_second();
    options.ahead = Duration::from_secs(left_s as u64 - 600);
}

fn pass(stage: &Stage, phone: &mut Phone, minutes: u64) {
    stage.wait_min(minutes);
    phone.wait_min(minutes as i64);
}

fn year(origin: &str) -> i32 {
    origin.rsplit('/').next().unwrap().parse().unwrap()
}

#[tokio::test]
async fn a_watch_over_new_year_is_one_watch_in_two_logs() {
    let stage = Stage::with(new_years_eve).await;
    let (watch, mut phone) = stage.with_phone().await;
    // Let in before New Year, heard for the first time after it.
    let (_, path) = stage.open().await;
    let mut late = stage.phone_in(&path, 8).await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    let kept = phone.waiting.clone();
    phone.sync().await;
    let old = phone.head.clone().unwrap();
    phone.sees(&watch, "floor-2");
    pass(&stage, &mut phone, 20);
    phone.sees(&watch, "floor-1");

    let read = phone.sync().await;
    let new = phone.head.clone().unwrap();
    assert_eq!(year(&new.origin), year(&old.origin) + 1, "the log of the new year goes on");
    assert_eq!(read.outcomes.len(), 2, "one line from before midnight, one from after it");
    assert!(read.outcomes.iter().all(|outcome| outcome.is == Is::Received));
    assert!(phone.waiting.is_empty());

    // A receipt that was lost on the way is given again, out of the log that was closed.
    phone.waiting = kept.clone();
    let read = phone.sync().await;
    assert_eq!(read.outcomes.len(), kept.len());
    assert!(read.outcomes.iter().all(|outcome| outcome.is == Is::Again));
    assert!(phone.waiting.is_empty(), "the new log vouches for the head of the old one");
    assert!(read.lines.iter().any(|line| line.log == old.origin));

    late.wait_min(20);
    assert_eq!(year(late.member.as_ref().unwrap().log_key.name()), year(&old.origin));
    late.sync().await;
    assert_eq!(late.head.as_ref().unwrap().origin, new.origin);

    // A mark in the old log leads to what came after it there, then to the new log.
    let request = Request {
        watches: vec![WatchFrom {
            watch: watch.clone(),
            from: old.size,
            log: Some(old.origin.clone()),
        }],
        ..phone.request()
    };
    let answer =
        phone.signed(reqwest::Method::POST, "/sync", serde_json::to_vec(&request).unwrap());
    let reply: phone::sync::Reply = answer.await.json().await.unwrap();
    let read = phone.read(&reply);
    let after = |line: &phone::sync::reading::ReadLine| {
        line.log == new.origin || (line.log == old.origin && line.leaf.i >= old.size)
    };
    assert!(read.lines.iter().all(after));

    let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let verdict = bundle::verify(&zip, |_, _| {});
    assert!(verdict.ok, "{verdict:?}");
    assert_eq!(verdict.log_keys.len(), 2, "one head for each year");
    assert_eq!(verdict.head.as_ref().unwrap().origin, new.origin);
    let unknown = |says: &str| verdict.cannot_know.iter().any(|open| open.contains(says));
    assert!(!unknown("closing leaf") && !unknown("quoted heads"), "{:?}", verdict.cannot_know);
    by_python(&zip);
    // What the server wrote about the export comes down out of the new log.
    let read = phone.sync().await;
    assert!(read.lines.iter().any(|line| line.log == new.origin));

    // A restart finds both, and the phone goes on.
    let stage = stage.restart_with(|_, options| {
        new_years_eve(options);
        options.ahead += Duration::from_secs(3_600);
    });
    let stage = stage.await;
    pass(&stage, &mut phone, 45);
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    assert!(phone.waiting.is_empty());
    assert_eq!(phone.head.as_ref().unwrap().origin, new.origin);
    stage.running.stop().await;
}

/// The program inside the bundle, which shares no code with ours.
fn by_python(zip: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("bundle.zip"), zip).unwrap();
    let unzip = "import zipfile; zipfile.ZipFile('bundle.zip').extractall('out')";
    let done = Command::new("python3").args(["-c", unzip]).current_dir(&folder).status();
    assert!(done.expect("this test needs the package python3").success());
    let judged =
        Command::new("python3").arg("out/verify.py").current_dir(&folder).output().unwrap();
    let said = String::from_utf8_lossy(&judged.stdout);
    assert!(judged.status.success(), "{said}");
    assert!(said.starts_with("All holds"), "{said}");
}

/// What a process that died right after closing the log leaves: no next log, no head over the end.
async fn close_and_die(folder: &Path) -> (String, String) {
    let store = Store::open(&Options::in_folder(folder).store()).await.unwrap();
    let origin = store.logs().await.unwrap().last().unwrap().to_string();
    let (prefix, year) = origin.rsplit_once('/').unwrap();
    let next = format!("{prefix}/{}", year.parse::<i32>().unwrap() + 1);
    let seed = std::fs::read(folder.join("keys/log.key")).unwrap();
    let vkey = LogKey::from_seed(&next, seed.try_into().unwrap()).unwrap().vkey();
    let at = ReceivedAt { ms: jiff::Timestamp::now().as_millisecond(), error_ms: 50 };
    store.close_log(&origin, at, vkey).await.unwrap();
    store.close().await;
    (origin, next)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stop_between_closing_and_opening_is_made_good_at_the_start() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;
    let mut logs = (String::new(), String::new());
    let stage = stage.restart_with(|folder, _| {
        let handle = tokio::runtime::Handle::current();
        logs = tokio::task::block_in_place(|| handle.block_on(close_and_die(folder)));
    });
    let stage = stage.await;
    phone.sees(&watch, "floor-1");
    let read = phone.sync().await;
    assert!(phone.waiting.is_empty());
    assert_eq!(phone.head.as_ref().unwrap().origin, logs.1, "the log that the closing leaf names");
    assert!(read.lines.iter().any(|line| line.log == logs.0));
    let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let verdict = bundle::verify(&zip, |_, _| {});
    assert!(verdict.ok, "{verdict:?}");
    assert_eq!(verdict.log_keys.len(), 2);
    stage.running.stop().await;
}
