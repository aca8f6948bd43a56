//! The bundle of one watch, as it stands in the log now. Every export is a line of its own.

use crate::problem::Problem;
use crate::seal;
use crate::server::App;
use bundle::{BundleParts, KeptLine, LogParts};
use ledger::merkle::Tree;
use ledger::{DeviceId, Digest, PersonId, PublicKey, SignedHead, SignedLine, WatchId};
use record::{Entry, Exported};
use std::collections::{BTreeMap, BTreeSet};
use store::{Place, PrivateLine, StoredLine};

const PAGE: u32 = 2_000;

/// Members of a body that name a blob by its digest, as `docs/spec/log.md` lists them.
const BLOB_MEMBERS: &[&str] =
    &["blob", "card", "instructions", "photo", "plan", "route", "sheet", "signature", "terms"];

/// States the export, seals the chains, signs a head over both, and packs everything.
pub(crate) async fn bundle_of(
    app: &App,
    watch: &WatchId,
    by: &PersonId,
) -> Result<Vec<u8>, Problem> {
    let head = app.publish().await?.claimed().quoted();
    let entry = Exported { head, by: by.clone() };
    app.scribe.write(app, watch, by, vec![entry.into()]).await?;
    seal::seal(app, watch).await?;
    let head = app.publish().await?;
    let lines = all(app, watch).await?;
    let devices: BTreeSet<DeviceId> = lines.iter().map(|line| line.dev).collect();
    let org: Vec<StoredLine> = all(app, &WatchId::org()).await?;
    let org: Vec<StoredLine> = org.into_iter().filter(|line| concerns(line, &devices)).collect();
    let mut kept = Vec::new();
    for line in &lines {
        let private = private(app, &line.place).await?;
        kept.push(KeptLine { signed: line.signed.clone(), private });
    }
    let blobs = blobs(app, &lines).await?;
    let (trees, logs) = logs(app, &head, lines.iter().chain(&org)).await?;
    let parts = BundleParts {
        watch: watch.clone(),
        server: app.scribe.device(),
        lines: kept,
        org_lines: org.iter().map(|line| line.signed.clone()).collect(),
        keys: keys(app, lines.iter().chain(&org)),
        logs: trees.iter().zip(logs).map(|(tree, log)| LogParts { tree, ..log.parts() }).collect(),
        blobs,
    };
    bundle::write(&parts).map_err(|fault| Problem::Machine(fault.to_string()))
}

/// Every line of a watch, in log order.
async fn all(app: &App, watch: &WatchId) -> Result<Vec<StoredLine>, Problem> {
    let mut lines: Vec<StoredLine> = Vec::new();
    loop {
        let after = lines.last().map(|line| line.place.clone());
        let page = app.store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        if page.is_empty() {
            return Ok(lines);
        }
        lines.extend(page);
    }
}

/// Whether a line of the organisation is needed to trust these devices.
fn concerns(line: &StoredLine, devices: &BTreeSet<DeviceId>) -> bool {
    let device = match entry(&line.signed) {
        Some(Entry::Enrolled(body)) => body.device,
        Some(Entry::Revoked(body)) => body.device,
        Some(Entry::Rekeyed(_)) => line.dev,
        _ => return false,
    };
    devices.contains(&device)
}

fn entry(signed: &SignedLine) -> Option<Entry> {
    let line: ledger::Line = serde_json::from_slice(&signed.bytes).ok()?;
    Entry::of(&line).ok()
}

async fn private(app: &App, place: &Place) -> Result<Option<Vec<u8>>, Problem> {
    Ok(match app.store.private(place).await? {
        PrivateLine::Here(bytes) => Some(bytes),
        PrivateLine::Absent | PrivateLine::Erased => None,
    })
}

async fn blobs(app: &App, lines: &[StoredLine]) -> Result<Vec<Vec<u8>>, Problem> {
    let mut named: BTreeSet<Digest> = BTreeSet::new();
    for line in lines {
        let Ok(line) = serde_json::from_slice::<ledger::Line>(&line.signed.bytes) else { continue };
        let members = BLOB_MEMBERS.iter().filter_map(|member| line.body.get(*member)?.as_str());
        named.extend(members.filter_map(|text| text.parse::<Digest>().ok()));
    }
    let mut blobs = Vec::new();
    for digest in named {
        blobs.extend(app.store.blobs().get(digest).await?);
    }
    Ok(blobs)
}

fn keys<'l>(app: &App, lines: impl Iterator<Item = &'l StoredLine>) -> Vec<PublicKey> {
    let book = app.book();
    let devices: BTreeSet<DeviceId> = lines.map(|line| line.dev).collect();
    devices.into_iter().filter_map(|dev| book.any_device(dev).map(|known| known.key)).collect()
}

/// One log, before its tree is lent to it.
struct OneLog {
    vkey: ledger::Vkey,
    head: String,
    leaves: Vec<Vec<u8>>,
}

/// An empty tree to begin with; the real one is put in its place.
static NO_TREE: std::sync::LazyLock<Tree> = std::sync::LazyLock::new(Tree::new);

impl OneLog {
    fn parts(self) -> LogParts<'static> {
        LogParts {
            vkey: self.vkey,
            head: self.head,
            tree: &NO_TREE,
            leaves: self.leaves,
            stamps: Vec::new(),
        }
    }
}

async fn logs<'l>(
    app: &App,
    head: &SignedHead,
    lines: impl Iterator<Item = &'l StoredLine>,
) -> Result<(Vec<Tree>, Vec<OneLog>), Problem> {
    let leaves: BTreeMap<u64, Vec<u8>> = lines
        .filter(|line| *line.place.origin == *app.origin)
        .map(|line| (line.place.index, store::leaf_of(line).to_bytes()))
        .collect();
    let tree = tree(app, head.claimed().size).await?;
    let log = OneLog {
        vkey: app.log_key().vkey(),
        head: head.to_string(),
        leaves: leaves.into_values().collect(),
    };
    Ok((vec![tree], vec![log]))
}

/// The tree over the whole log, from its leaves.
async fn tree(app: &App, size: u64) -> Result<Tree, Problem> {
    let mut tree = Tree::new();
    while tree.size() < size {
        let from = tree.size();
        let page = app.store.lines(&app.origin, from..size, PAGE).await?;
        if page.is_empty() {
            let says = format!("the log ends at {from} leaves instead of {size}");
            return Err(Problem::Machine(says));
        }
        for line in &page {
            tree.push(store::leaf_of(line).hash());
        }
    }
    Ok(tree)
}
