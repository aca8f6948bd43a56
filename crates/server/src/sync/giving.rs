//! Others' lines as they go down to a phone: in the order of the log, each with its proof.

use super::heads::{Heads, is_gone};
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use ledger::{DeviceId, HeadRef, SignedHead, WatchId};
use phone::sync::{GivenLine, KnownKey, WatchFrom};
use std::collections::BTreeSet;
use store::{PrivateLine, StoredLine};

/// Others' lines given at a time; a phone asks again for more.
pub(super) const GIVEN_MAX: usize = 500;

/// Other devices' lines of the watches asked for, in the order of the log; one more than is given.
pub(super) async fn others(
    app: &App,
    dev: DeviceId,
    asked: &[WatchFrom],
    held: Option<&HeadRef>,
) -> Result<Vec<StoredLine>, Problem> {
    let logs = app.logs();
    let mut found = Vec::new();
    for wanted in asked.iter().filter(|wanted| !wanted.watch.is_org()) {
        if !app.book().may(dev, &wanted.watch) {
            continue;
        }
        // A mark in a log of which nothing is left says nothing: the watch is given from its start.
        let log = wanted.log.as_deref().or(held.map(|held| held.origin.as_str()));
        let log = log.filter(|log| logs.knows(log) && !is_gone(&logs, log));
        found.extend(of_watch(app, dev, &wanted.watch, (log, wanted.from)).await?);
    }
    found.sort_by_key(|line| (logs.rank(&line.place.origin), line.place.index));
    found.truncate(GIVEN_MAX + 1);
    Ok(found)
}

async fn of_watch(
    app: &App,
    dev: DeviceId,
    watch: &WatchId,
    (log, from): (Option<&str>, u64),
) -> Result<Vec<StoredLine>, Problem> {
    let mut found = Vec::new();
    let mut after = log.zip(from.checked_sub(1)).map(|(log, index)| store::Place {
        origin: log.into(),
        index,
        rx: app.received_now(),
    });
    while found.len() <= GIVEN_MAX {
        let page = app.store.lines_of_watch(watch, after.as_ref(), GIVEN_MAX as u32 + 1).await?;
        let Some(last) = page.last() else { break };
        after = Some(last.place.clone());
        found.extend(page.into_iter().filter(|line| line.dev != dev));
    }
    Ok(found)
}

/// Lines in the order of the logs, each with the proof that leads to the head of its log.
pub(super) async fn give(
    app: &App,
    heads: &mut Heads,
    lines: &[StoredLine],
) -> Result<Vec<GivenLine>, Problem> {
    let mut given = Vec::new();
    for of_log in lines.chunk_by(|a, b| a.place.origin == b.place.origin) {
        let (head, log) = heads.of(app, &of_log[0].place.origin).await?;
        given.extend(give_of_log(app, &head, log, of_log).await?);
    }
    Ok(given)
}

async fn give_of_log(
    app: &App,
    head: &SignedHead,
    log: Option<String>,
    lines: &[StoredLine],
) -> Result<Vec<GivenLine>, Problem> {
    let indexes: Vec<u64> = lines.iter().map(|line| line.place.index).collect();
    let receipts = app.store.receipts(head, &indexes).await?;
    let mut given = Vec::new();
    for (stored, receipt) in lines.iter().zip(receipts) {
        let private = match app.store.private(&stored.place).await? {
            PrivateLine::Here(bytes) => String::from_utf8(bytes).ok(),
            PrivateLine::Absent | PrivateLine::Erased => None,
        };
        given.push(GivenLine {
            line: String::from_utf8_lossy(&stored.signed.bytes).into_owned(),
            sig: stored.signed.signature,
            private,
            leaf: String::from_utf8_lossy(&receipt.leaf.to_bytes()).into_owned(),
            proof: receipt.proof.path,
            log: log.clone(),
        });
    }
    Ok(given)
}

/// The keys that the given lines are signed with, and the server's own.
pub(super) async fn keys(app: &App, lines: &[StoredLine]) -> Result<Vec<KnownKey>, Problem> {
    let mut devices: BTreeSet<DeviceId> = lines.iter().map(|line| line.dev).collect();
    devices.extend(app.scribe.all_keys().map(|key| key.device()));
    let mut keys = Vec::new();
    for dev in devices {
        let Some(known) = app.book().any_device(dev).cloned() else { continue };
        let name = match &known.person {
            Some(person) => people::name_of(app, person).await?,
            None => None,
        };
        keys.push(KnownKey { dev, key: known.key, role: known.role, person: known.person, name });
    }
    Ok(keys)
}
