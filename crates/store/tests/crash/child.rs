//! The one that is killed: appends, publishes, keeps blobs, and says what was acknowledged.

use crate::devices::{Chain, ORIGIN, at, sign};
use ledger::Digest;
use std::io::Write;
use std::path::Path;
use store::{Incoming, Options, Outcome, Store};

pub(crate) const WATCH: &str = "w-1";
pub(crate) const DEVICES: u8 = 4;

pub(crate) fn options(folder: &Path) -> Options {
    let mut options = Options::in_folder(folder);
    options.reserve_bytes = Some(0);
    options
}

#[tokio::main]
pub(crate) async fn run(folder: &Path) {
    let store = Store::open(&options(folder)).await.unwrap();
    store.create_log(ORIGIN).await.unwrap();
    let mut tasks = tokio::task::JoinSet::new();
    for device in 1..=DEVICES {
        tasks.spawn(append(store.clone(), device));
    }
    tasks.spawn(publish(store.clone()));
    tasks.spawn(keep_blobs(store));
    while let Some(ended) = tasks.join_next().await {
        ended.unwrap();
    }
}

/// One line for each acknowledgement, ended by a mark so that half a line is known as half.
fn say(line: std::fmt::Arguments<'_>) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line} .").unwrap();
    out.flush().unwrap();
}

/// Goes on where the store stands. A device signs the same lines in every life, so what was sent but
/// not acknowledged before a crash comes again.
async fn append(store: Store, device: u8) {
    let mut chain = Chain::new(device, WATCH);
    (chain.seq, chain.prev) = store.tail(chain.dev(), &chain.watch).await.unwrap();
    for round in 0u64.. {
        let mut lines: Vec<Incoming> =
            (0..round % 7 + 1).map(|_| chain.whisper("a", "held back")).collect();
        if round % 5 == 0 && lines.len() > 1 {
            // The last line alone first: it must be held through a crash too.
            let early = lines.pop().unwrap();
            send(&store, device, vec![early.clone()]).await;
            lines.push(early);
        }
        send(&store, device, lines).await;
    }
}

async fn send(store: &Store, device: u8, lines: Vec<Incoming>) {
    let names: Vec<_> = lines.iter().map(|line| (line.line.seq, line.line.id())).collect();
    let appended = store.append(ORIGIN, at(1_000), lines).await.unwrap();
    for ((seq, id), outcome) in names.into_iter().zip(appended.outcomes) {
        match outcome {
            Outcome::Received(place) | Outcome::Again(place) => {
                say(format_args!("line {device} {seq} {id} {}", place.index));
            }
            Outcome::Held { .. } => say(format_args!("held {device} {seq} {id}")),
            other => panic!("{other:?}"),
        }
    }
}

async fn publish(store: Store) {
    loop {
        let head = store.publish(ORIGIN, sign).await.unwrap();
        say(format_args!("head {} {}", head.claimed().size, head.claimed().root));
        tokio::time::sleep(std::time::Duration::from_millis(3)).await;
    }
}

async fn keep_blobs(store: Store) {
    let start = store.blobs().list().await.unwrap().len() as u64;
    for number in start.. {
        let bytes = number.to_be_bytes().repeat(2_000);
        let named = Digest::of(&bytes);
        store.blobs().put(named, bytes).await.unwrap();
        say(format_args!("blob {named}"));
        tokio::time::sleep(std::time::Duration::from_millis(5)).await;
    }
}
