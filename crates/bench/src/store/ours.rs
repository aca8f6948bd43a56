//! The store itself.

use super::signed::Signed;
use super::{BATCH, Turns, cluster, now};
use anyhow::{Result, ensure};
use ledger::head::{Head, LogKey, SignedHead};
use std::collections::VecDeque;
use store::{Incoming, Options, ReceivedAt, Store};

const ORIGIN: &str = "gannet.example/quay/2026";
const RX: ReceivedAt = ReceivedAt { ms: 1_000, error_ms: 5 };

/// Batches that are verified while one is appended.
const VERIFIED_AHEAD: usize = 3;

async fn open(engine: &str, folder: &tempfile::TempDir) -> Result<Store> {
    let mut options = Options::in_folder(folder.path());
    if engine == "postgres" {
        options.database = cluster::new_database().await;
    }
    let store = Store::open(&options).await?;
    store.create_log(ORIGIN).await?;
    Ok(store)
}

fn sign(head: &Head) -> SignedHead {
    head.sign(&LogKey::from_seed(ORIGIN, [9; 32]).expect("the name has the form of names"))
}

/// An open store in a folder of its own.
pub(crate) struct Opened {
    store: Store,
    _folder: tempfile::TempDir,
}

impl Opened {
    pub(crate) async fn open(engine: &str) -> Result<Opened> {
        let folder = tempfile::tempdir()?;
        Ok(Opened { store: open(engine, &folder).await?, _folder: folder })
    }

    pub(crate) async fn append(&mut self, lines: Vec<Incoming>) -> Result<()> {
        self.store.append(ORIGIN, RX, lines).await?;
        Ok(())
    }

    pub(crate) async fn append_and_sign(&mut self, line: Incoming) -> Result<()> {
        self.store.append(ORIGIN, RX, vec![line]).await?;
        self.store.publish(ORIGIN, sign).await?;
        Ok(())
    }

    pub(crate) async fn close(self, lines: usize) -> Result<()> {
        let size = self.store.head(ORIGIN).await?.size;
        self.store.close().await;
        ensure!(size == lines as u64, "{size} lines are there instead of {lines}");
        Ok(())
    }
}

/// From signed bytes to an acknowledged line under a signed head: while one batch is appended, the
/// next ones are verified.
pub(crate) async fn end_to_end(engine: &str, signed: &[Signed]) -> Result<Turns> {
    let folder = tempfile::tempdir()?;
    let store = open(engine, &folder).await?;
    let batches: Vec<Vec<Signed>> = signed.chunks(BATCH).map(<[Signed]>::to_vec).collect();
    let (began, mut each_ms) = (now(), Vec::new());
    let mut batches = batches.into_iter();
    let mut verified = VecDeque::new();
    loop {
        for batch in batches.by_ref().take(VERIFIED_AHEAD - verified.len()) {
            let began = now();
            let check = |line: &Signed| Incoming { line: line.check(), private: None };
            let verify = move || batch.iter().map(check).collect::<Vec<_>>();
            verified.push_back((began, tokio::task::spawn_blocking(verify)));
        }
        let Some((began, lines)) = verified.pop_front() else { break };
        store.append(ORIGIN, RX, lines.await?).await?;
        store.publish(ORIGIN, sign).await?;
        each_ms.push(began.elapsed().as_secs_f64() * 1e3);
    }
    let whole_s = began.elapsed().as_secs_f64();
    ensure!(store.head(ORIGIN).await?.size == signed.len() as u64, "lines are missing");
    store.close().await;
    Ok(Turns { lines: signed.len(), whole_s, each_ms })
}
