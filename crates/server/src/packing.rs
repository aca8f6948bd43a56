//! From the store to the bytes of a bundle: what of the record belongs to one watch, and no more.
//! Reads the lines of the watch, those of the organisation that let its devices in, and the part of
//! each log's tree between them.

use crate::problem::Problem;
use bundle::{BundleParts, KeptLine, LogParts};
use ledger::{DeviceId, Digest, Leaf, Line, LogKey, PublicKey, SignedHead, Vkey, WatchId};
use record::Entry;
use std::collections::{BTreeMap, BTreeSet};
use store::{PartOfTree, Place, PrivateLine, Store, StoredLine};

const PAGE: u32 = 2_000;

/// What is packed, and from where.
pub(crate) struct Packing<'a> {
    pub(crate) store: &'a Store,
    pub(crate) watch: &'a WatchId,
    pub(crate) server: DeviceId,
    /// The seed of the keys of all logs of this house.
    pub(crate) log_seed: [u8; 32],
}

impl Packing<'_> {
    /// Packs everything that the newest signed heads cover.
    pub(crate) async fn pack(&self) -> Result<Vec<u8>, Problem> {
        let heads = self.heads().await?;
        let mut lines = Vec::new();
        each_line(self.store, self.watch, |line| {
            // A line that came in since the head was signed is in the next bundle.
            if covers(&heads, &line.place) {
                lines.push(line);
            }
        })
        .await?;
        let org = self.trust(&heads, lines.iter().map(|line| line.dev).collect()).await?;
        let trees = self.logs(&heads, lines.iter().chain(&org)).await?;
        let parts = BundleParts {
            watch: self.watch.clone(),
            server: self.server,
            keys: keys(lines.iter().chain(&org), &org),
            org_lines: org.iter().map(|line| line.signed.clone()).collect(),
            blobs: self.blobs(&lines).await?,
            lines: self.kept(lines).await?,
            logs: trees.iter().map(OneLog::parts).collect(),
        };
        bundle::write(&parts).map_err(|fault| Problem::Machine(fault.to_string()))
    }

    /// The newest signed head of every log that has one, oldest log first.
    async fn heads(&self) -> Result<Vec<SignedHead>, Problem> {
        let mut heads = Vec::new();
        for origin in self.store.logs().await? {
            heads.extend(self.store.published(&origin).await?);
        }
        Ok(heads)
    }

    /// The lines of the organisation that are needed to trust these devices: how they were let in,
    /// which older key vouched for theirs, and whether they are trusted no longer.
    async fn trust(
        &self,
        heads: &[SignedHead],
        mut devices: BTreeSet<DeviceId>,
    ) -> Result<Vec<StoredLine>, Problem> {
        let mut stated = Vec::new();
        each_line(self.store, &WatchId::org(), |line| {
            if covers(heads, &line.place)
                && let Some(about) = about_trust(&line)
            {
                stated.push((about, line));
            }
        })
        .await?;
        // A key may vouch for the one after it again and again; the newest stands last.
        for (about, line) in stated.iter().rev() {
            if *about != line.dev && is_kind(line, "rekeyed") && devices.contains(about) {
                devices.insert(line.dev);
            }
        }
        devices.insert(self.server);
        stated.retain(|(about, _)| devices.contains(about));
        Ok(stated.into_iter().map(|(_, line)| line).collect())
    }

    async fn kept(&self, lines: Vec<StoredLine>) -> Result<Vec<KeptLine>, Problem> {
        let mut kept = Vec::with_capacity(lines.len());
        for line in lines {
            let private = match self.store.private(&line.place).await? {
                PrivateLine::Here(bytes) => Some(bytes),
                PrivateLine::Absent | PrivateLine::Erased => None,
            };
            kept.push(KeptLine { signed: line.signed, private });
        }
        Ok(kept)
    }

    async fn blobs(&self, lines: &[StoredLine]) -> Result<Vec<Vec<u8>>, Problem> {
        let mut named: BTreeSet<Digest> = BTreeSet::new();
        for line in lines.iter().filter_map(parsed) {
            named.extend(bundle::blobs_named(&line));
        }
        let mut blobs = Vec::new();
        for digest in named {
            blobs.extend(self.store.blobs().get(digest).await?);
        }
        Ok(blobs)
    }

    /// Every log from the first that holds one of these lines to the newest: each vouches for the
    /// key of the next.
    async fn logs<'l>(
        &self,
        heads: &[SignedHead],
        lines: impl Iterator<Item = &'l StoredLine>,
    ) -> Result<Vec<OneLog>, Problem> {
        let mut shown: BTreeMap<&str, BTreeMap<u64, Vec<u8>>> = BTreeMap::new();
        let mut places: BTreeMap<String, BTreeSet<u64>> = BTreeMap::new();
        for line in lines {
            let (origin, index) = (&line.place.origin, line.place.index);
            shown.entry(origin).or_default().insert(index, store::leaf_of(line).to_bytes());
            places.entry(origin.to_string()).or_default().extend([index, index + 1]);
            if let Some(quoted) = parsed(line).and_then(|line| line.head) {
                places.entry(quoted.origin).or_default().insert(quoted.size);
            }
        }
        let from = heads.iter().position(|head| shown.contains_key(&*head.claimed().origin));
        let mut logs = Vec::new();
        for signed in &heads[from.unwrap_or(heads.len())..] {
            let head = signed.claimed();
            let mut leaves = shown.remove(&*head.origin).unwrap_or_default();
            let mut places = places.remove(&head.origin).unwrap_or_default();
            let last = head.size.saturating_sub(1);
            if head.size > 0
                && let leaf @ Leaf::Close(_) = self.store.leaf(&head.origin, last).await?
            {
                leaves.insert(last, leaf.to_bytes());
                places.insert(last);
            }
            places.insert(head.size);
            places.retain(|place| *place <= head.size);
            let tree = self.store.part_of_tree(&head.origin, &places).await?;
            let vkey = log_key(&head.origin, self.log_seed).vkey();
            let leaves = leaves.into_values().collect();
            logs.push(OneLog { vkey, head: signed.clone(), tree, leaves });
        }
        Ok(logs)
    }
}

/// One log, as far as the watch is concerned.
struct OneLog {
    vkey: Vkey,
    head: SignedHead,
    tree: PartOfTree,
    leaves: Vec<Vec<u8>>,
}

impl OneLog {
    fn parts(&self) -> LogParts<'_> {
        LogParts {
            vkey: self.vkey.clone(),
            head: self.head.to_string(),
            tree: &self.tree,
            leaves: self.leaves.clone(),
            stamps: Vec::new(),
        }
    }
}

/// The key of a log of this house.
pub(crate) fn log_key(origin: &str, seed: [u8; 32]) -> LogKey {
    LogKey::from_seed(origin, seed).expect("an origin of ours is a key name")
}

/// Shows every line of a watch in log order, a page at a time.
async fn each_line(
    store: &Store,
    watch: &WatchId,
    mut see: impl FnMut(StoredLine),
) -> Result<(), Problem> {
    let mut after: Option<Place> = None;
    loop {
        let page = store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        let Some(last) = page.last() else { return Ok(()) };
        after = Some(last.place.clone());
        page.into_iter().for_each(&mut see);
    }
}

fn covers(heads: &[SignedHead], place: &Place) -> bool {
    let of_log = heads.iter().map(SignedHead::claimed).find(|head| *head.origin == *place.origin);
    of_log.is_some_and(|head| place.index < head.size)
}

/// The device that a line of the organisation makes trusted, or no longer so.
fn about_trust(line: &StoredLine) -> Option<DeviceId> {
    match entry(line)? {
        Entry::Enrolled(body) => Some(body.device),
        Entry::Revoked(body) => Some(body.device),
        Entry::Rekeyed(body) => Some(body.key.device()),
        _ => None,
    }
}

fn is_kind(line: &StoredLine, kind: &str) -> bool {
    parsed(line).is_some_and(|line| line.kind == kind)
}

/// The keys of all who signed, as the organisation's lines state them.
fn keys<'l>(signed: impl Iterator<Item = &'l StoredLine>, org: &[StoredLine]) -> Vec<PublicKey> {
    let stated = org.iter().filter_map(|line| match entry(line)? {
        Entry::Enrolled(body) => Some(body.key),
        Entry::Rekeyed(body) => Some(body.key),
        _ => None,
    });
    let stated: BTreeMap<DeviceId, PublicKey> = stated.map(|key| (key.device(), key)).collect();
    let signers: BTreeSet<DeviceId> = signed.map(|line| line.dev).collect();
    signers.iter().filter_map(|dev| stated.get(dev).copied()).collect()
}

fn parsed(line: &StoredLine) -> Option<Line> {
    serde_json::from_slice(&line.signed.bytes).ok()
}

fn entry(line: &StoredLine) -> Option<Entry> {
    Entry::of(&parsed(line)?).ok()
}
