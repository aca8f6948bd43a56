//! A server that comes back from an older copy: noticed before anything is signed, refused, and on
//! somebody's word continued in another log that the phones fill up again.

mod stage;

use ledger::{HeadRef, LineId, SignedHead, SignedLine};
use phone::sync::reading::ReadLine;
use phone::sync::{Is, LineFrom, SentLine};
use server::{Options, StartError};
use stage::{Phone, Stage, options};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::time::Duration;
use store::StoreError;

/// Copies what `rattlewatch backup` copies.
async fn back_up(stage: &Stage, to: &Path) {
    // A head is kept a second after it was signed at the latest; a copy ends at a kept head.
    tokio::time::sleep(Duration::from_millis(1_300)).await;
    let (from, copy) = (options(stage.folder.path()), options(to));
    store::back_up(&from.store(), &copy.store()).await.unwrap();
    copy_keys(&stage.folder.path().join("keys"), &to.join("keys"));
}

fn copy_keys(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for file in fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), to.join(file.file_name())).unwrap();
    }
}

/// Puts the copy in the place of what the server had; the marks stay.
async fn put_back(copy: &Path, folder: &Path) {
    for name in ["record.db", "record.db-wal", "record.db-shm"] {
        let _ = fs::remove_file(folder.join(name));
    }
    for name in ["keys", "blobs"] {
        fs::remove_dir_all(folder.join(name)).unwrap();
    }
    store::back_up(&options(copy).store(), &options(folder).store()).await.unwrap();
    copy_keys(&copy.join("keys"), &folder.join("keys"));
    fs::write(folder.join("restored"), "").unwrap();
}

/// Every head that somebody may have kept.
#[derive(Default)]
struct Witness(Vec<HeadRef>);

impl Witness {
    fn sees(&mut self, head: &HeadRef) {
        for known in self.0.iter().filter(|known| known.origin == head.origin) {
            assert!(head.size >= known.size, "a smaller head of {} was signed", head.origin);
            let same = head.size != known.size || head.root == known.root;
            assert!(same, "two heads of {} over {} leaves", head.origin, head.size);
        }
        self.0.push(head.clone());
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_older_copy_is_noticed_and_the_phones_fill_it_up() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    let mut witness = Witness::default();
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let copy = tempfile::tempdir().unwrap();
    back_up(&stage, copy.path()).await;
    // What the copy does not have: the phone's lines, and the server's about a question.
    phone.sees(&watch, "floor-2");
    phone.write(&watch, record::Asked { of: None }, record::Words::from_text("Roof door?"));
    let lost: Vec<_> = phone.waiting.clone();
    let asked = phone.waiting.last().unwrap().0.id();
    phone.sync().await;
    let answer = [("of", asked.to_string()), ("words", "Leave it shut.".to_owned())];
    let answer: Vec<(&str, &str)> = answer.iter().map(|(name, v)| (*name, v.as_str())).collect();
    stage.post(&format!("/watch/{watch}/answer"), &answer).await;
    let read = phone.sync().await;
    let held = read.lines;
    let before = phone.head.clone().unwrap();
    witness.sees(&before);

    let Stage { folder, running, client, cookie, store, asks } = stage;
    let local = running.local;
    running.stop().await;
    put_back(copy.path(), folder.path()).await;
    let again = Options { listen: local, ..options(folder.path()) };
    let refused = server::serve(again.clone()).await;
    let Err(StartError::Store(error @ StoreError::RolledBack { .. })) = refused else {
        panic!("{refused:?}")
    };
    assert!(error.to_string().contains("--restored"), "it says what to do: {error}");

    let running = server::serve(Options { restored: true, ..again.clone() }).await.unwrap();
    let stage = Stage { folder, running, client, cookie, store, asks };
    let cut = refill(&mut phone, &before).await;
    let after = phone.head.clone().unwrap();
    witness.sees(&after);
    assert_ne!(after.origin, before.origin, "another log goes on");
    assert!(cut < before.size);
    // The phone brings what it holds, also what the server itself had written.
    phone.waiting = lost.clone();
    let mut request = phone.request();
    let of_server: Vec<_> = held.iter().filter(|line| line.leaf.i >= cut).collect();
    assert!(of_server.iter().any(|line| line.line.kind == "answered"));
    request.lines.extend(of_server.iter().map(|line| sent(line)));
    let outcomes = said(&phone, &request).await;
    assert!(outcomes.values().all(|is| *is == Is::Received), "{outcomes:?}");
    assert_eq!(outcomes.len(), lost.len() + of_server.len());
    phone.waiting.clear();
    // A second time, and once more by somebody who does not know that it came back.
    let outcomes = said(&phone, &request).await;
    assert!(outcomes.values().all(|is| *is == Is::Again), "{outcomes:?}");

    // Nothing is refused afterwards; both chains of the server go on, and the watch is whole.
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    assert!(phone.waiting.is_empty());
    let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let opened = bundle::open(&zip);
    assert!(opened.verdict.ok, "{:?}", opened.verdict.faults);
    let inside: BTreeSet<LineId> = opened.lines.iter().map(|sealed| sealed.line.id()).collect();
    assert!(lost.iter().all(|(line, _)| inside.contains(&line.id())));
    assert!(of_server.iter().all(|line| inside.contains(&line.line.id())));
    let restored = opened.lines.iter().find(|sealed| sealed.line.kind == "restored");
    let body = &restored.expect("the watch says what was lost").line.body;
    assert_eq!(body["log"], before.origin);
    assert!(body["signed"].as_u64() >= Some(before.size));
    assert_eq!(body["size"], cut);
    let closing = |says: &String| says.contains("closing leaf is not here");
    assert!(opened.verdict.cannot_know.iter().any(closing));

    // The word is needed once: the next start goes on by itself.
    let stage = stage.restart().await;
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    assert!(phone.waiting.is_empty());
    witness.sees(phone.head.as_ref().unwrap());
    assert_eq!(phone.head.as_ref().unwrap().origin, after.origin);
    stage.running.stop().await;
}

/// One conversation in which the server says how much is left of the log that the phone knows.
async fn refill(phone: &mut Phone, before: &HeadRef) -> u64 {
    let body = serde_json::to_vec(&phone.request()).unwrap();
    let answer = phone.signed(reqwest::Method::POST, "/sync", body).await;
    let reply: phone::sync::Reply = answer.json().await.unwrap();
    SignedHead::parse(&reply.head).unwrap();
    let read = phone.read(&reply);
    let [cut] = read.cut.as_slice() else { panic!("the phone is told: {:?}", read.cut) };
    assert_eq!(cut.origin, before.origin);
    cut.size
}

/// A line that came down, as it goes up again.
fn sent(held: &ReadLine) -> SentLine {
    let private = held.private.as_ref().map(|private| private.to_bytes().unwrap());
    let private = private.map(|bytes| String::from_utf8(bytes).unwrap());
    let (bytes, signature) = (held.line.bytes().to_vec(), held.line.signature());
    SentLine::of(&SignedLine { bytes, signature }, private)
}

async fn said(
    phone: &Phone,
    request: &phone::sync::Request,
) -> std::collections::BTreeMap<LineId, Is> {
    let body = serde_json::to_vec(request).unwrap();
    let answer = phone.signed(reqwest::Method::POST, "/sync", body).await;
    let reply: phone::sync::Reply = answer.json().await.unwrap();
    let sent = request.lines.iter().map(|sent| sent.signed().id());
    let sent: BTreeSet<LineId> = sent.collect();
    let outcomes = reply.outcomes.iter().map(|outcome| (outcome.id, outcome.is));
    outcomes.filter(|(id, _)| sent.contains(id)).collect()
}
