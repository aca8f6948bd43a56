//! Remembers what was acknowledged and looks for it in the store.

use crate::child::{WATCH, options};
use crate::devices::{Chain, ORIGIN};
use ledger::{Digest, LineId};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use store::{PrivateLine, Store};

pub(crate) struct Judge {
    folder: PathBuf,
    runtime: tokio::runtime::Runtime,
    /// By index: device, number in the chain, id.
    lines: BTreeMap<u64, (u8, u64, LineId)>,
    held: BTreeMap<(u8, u64), LineId>,
    heads: BTreeMap<u64, Digest>,
    blobs: BTreeSet<Digest>,
    /// Lines below this index were looked at after an earlier crash.
    checked: u64,
    checked_blobs: BTreeSet<Digest>,
    checked_heads: u64,
}

impl Judge {
    pub(crate) fn new(folder: &Path) -> Judge {
        Judge {
            folder: folder.to_owned(),
            runtime: tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap(),
            lines: BTreeMap::new(),
            held: BTreeMap::new(),
            heads: BTreeMap::new(),
            blobs: BTreeSet::new(),
            checked: 0,
            checked_blobs: BTreeSet::new(),
            checked_heads: 0,
        }
    }

    pub(crate) fn lines(&self) -> u64 {
        self.lines.len() as u64
    }

    pub(crate) fn tally(&self) -> String {
        format!(
            "{} lines, {} held first, {} heads, {} blobs acknowledged",
            self.lines.len(),
            self.held.len(),
            self.heads.len(),
            self.blobs.len()
        )
    }

    pub(crate) fn hear(&mut self, said: &[String]) {
        for line in said {
            let words: Vec<&str> = line.split(' ').collect();
            match words[..] {
                ["line", device, seq, id, index, "."] => {
                    let what = (number(device) as u8, number(seq), id.parse().unwrap());
                    let old = self.lines.insert(number(index), what);
                    assert!(old.is_none_or(|old| old == what), "two lines at {index}");
                }
                ["held", device, seq, id, "."] => {
                    self.held.insert((number(device) as u8, number(seq)), id.parse().unwrap());
                }
                ["head", size, root, "."] => {
                    let (size, root) = (number(size), root.parse().unwrap());
                    let old = self.heads.insert(size, root);
                    assert!(old.is_none_or(|old| old == root), "two heads over {size} leaves");
                }
                ["blob", named, "."] => {
                    self.blobs.insert(named.parse().unwrap());
                }
                _ => panic!("the child said {line:?}"),
            }
        }
    }

    /// Looks for everything acknowledged since the last look.
    pub(crate) fn check(&mut self) {
        let heard = !self.lines.is_empty() || !self.heads.is_empty() || !self.blobs.is_empty();
        if !heard && !self.folder.join("record.db").exists() {
            return;
        }
        // Opening for writing is what a server would do: recovery, marks and all.
        let store = match self.runtime.block_on(Store::open(&options(&self.folder))) {
            Ok(store) => store,
            Err(error) => panic!("after {}: {error}", self.tally()),
        };
        self.runtime.block_on(self.compare(&store));
        self.runtime.block_on(store.close());
        self.checked = self.lines.last_key_value().map_or(0, |(index, _)| index + 1);
        self.checked_blobs = self.blobs.clone();
        self.checked_heads = self.heads.last_key_value().map_or(0, |(size, _)| *size);
    }

    /// Looks at everything once more, and lets the store look at itself.
    pub(crate) fn check_all(&mut self) {
        (self.checked, self.checked_heads) = (0, 0);
        self.checked_blobs.clear();
        self.check();
        let store = self.runtime.block_on(Store::open(&options(&self.folder))).unwrap();
        let scrubbed = self.runtime.block_on(store.scrub()).unwrap();
        assert_eq!(scrubbed.faults, []);
        assert!(scrubbed.lines >= self.lines());
        self.runtime.block_on(store.close());
    }

    async fn compare(&self, store: &Store) {
        for (size, root) in self.heads.range(self.checked_heads..) {
            let found = store.root_at(ORIGIN, *size).await;
            assert_eq!(found.unwrap(), *root, "a head over {size} leaves was signed");
        }
        let mut next = self.checked;
        while let Some((first, _)) = self.lines.range(next..).next() {
            let kept = store.lines(ORIGIN, *first..u64::MAX >> 24, 1_000).await.unwrap();
            let kept: BTreeMap<u64, _> = kept.iter().map(|line| (line.place.index, line)).collect();
            next = first + 1_000;
            for (index, (device, seq, id)) in self.lines.range(*first..next) {
                let line = kept.get(index).unwrap_or_else(|| panic!("line {index} is lost"));
                let dev = Chain::new(*device, WATCH).dev();
                assert_eq!((line.dev, line.seq, line.id), (dev, *seq, *id));
                assert_eq!(Digest::of(&line.signed.bytes), id.0);
                let private = store.private(&line.place).await.unwrap();
                assert!(matches!(private, PrivateLine::Here(_)), "{private:?} of line {index}");
            }
        }
        self.compare_held(store).await;
        for named in self.blobs.difference(&self.checked_blobs) {
            assert!(store.blobs().get(*named).await.unwrap().is_some(), "blob {named} is lost");
        }
    }

    /// A line that was held is held still, or in the log.
    async fn compare_held(&self, store: &Store) {
        let waiting: BTreeSet<_> =
            store.held().await.unwrap().into_iter().map(|(dev, _, seq)| (dev, seq)).collect();
        for ((device, seq), id) in &self.held {
            let chain = Chain::new(*device, WATCH);
            if waiting.contains(&(chain.dev(), *seq)) {
                continue;
            }
            let kept = store.lines_of_chain(chain.dev(), &chain.watch, *seq, 1).await.unwrap();
            let placed = kept.first().is_some_and(|line| line.seq == *seq && line.id == *id);
            assert!(placed, "the held line {seq} of device {device} is lost");
        }
    }
}

fn number(text: &str) -> u64 {
    text.parse().unwrap()
}
