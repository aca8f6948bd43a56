//! Random requests, answers as text, and a plain model to compare the log with.

use crate::devices::{Chain, ORIGIN, at, sign};
use ledger::WatchId;
use ledger::merkle::{self, Tree};
use std::collections::BTreeMap;
use store::{Expect, Incoming, SettingKey, Store};

const WATCHES: [&str; 3] = ["w-1", "w-2", "org"];
const DEVICES: u8 = 3;
const OUTCOMES: [&str; 6] = [
    "Received(",
    "Again(",
    "Held {",
    "Forked {",
    "Refused(PrivateMissing",
    "Refused(PrivateUnasked",
];

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % end
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> Option<&'a T> {
        if from.is_empty() { None } else { from.get(self.below(from.len() as u64) as usize) }
    }
}

#[derive(Debug)]
pub(crate) enum Ask {
    Append { ms: i64, lines: Vec<Incoming> },
    Publish,
    Erase { index: u64 },
    Private { index: u64 },
    Range { from: u64, to: u64, limit: u32 },
    Watch { watch: WatchId, after: Option<u64>, limit: u32 },
    Chain { device: u8, watch: WatchId, from: u64 },
    Proofs { index: u64, old: u64, size: u64 },
    Waiting,
    Set { key: SettingKey, value: u64, expect: Expect },
    Unset { key: SettingKey, expect: Expect },
    Settings { prefix: String },
    Derive { key: String, value: Vec<u8> },
    DropDerived,
}

pub(crate) struct Asker {
    pub(crate) random: Random,
    chains: BTreeMap<(u8, usize), Chain>,
    /// Signed but not yet sent, and sent before.
    unsent: Vec<Incoming>,
    sent: Vec<Incoming>,
    size: u64,
    clock_ms: i64,
    counts: BTreeMap<&'static str, u64>,
}

impl Asker {
    pub(crate) fn new(random: Random) -> Asker {
        let mut chains = BTreeMap::new();
        for device in 1..=DEVICES {
            for (at, watch) in WATCHES.iter().enumerate() {
                chains.insert((device, at), Chain::new(device, watch));
            }
        }
        let (unsent, sent, counts) = (Vec::new(), Vec::new(), BTreeMap::new());
        Asker { random, chains, unsent, sent, size: 0, clock_ms: 1_000, counts }
    }

    pub(crate) fn next(&mut self) -> Ask {
        let end = self.size + 2;
        let limit = 1 + self.random.below(40) as u32;
        match self.random.below(20) {
            0..=8 => self.append(),
            9 | 10 => Ask::Publish,
            11 => Ask::Erase { index: self.random.below(end) },
            12 => Ask::Private { index: self.random.below(end) },
            13 => Ask::Range { from: self.random.below(end), to: self.random.below(end), limit },
            14 => {
                let after = (self.random.below(2) == 0).then(|| self.random.below(end));
                Ask::Watch { watch: self.watch(), after, limit }
            }
            15 => {
                let device = 1 + self.random.below(u64::from(DEVICES)) as u8;
                Ask::Chain { device, watch: self.watch(), from: self.random.below(30) }
            }
            16 => {
                let (index, old) = (self.random.below(end), self.random.below(end));
                Ask::Proofs { index, old, size: self.random.below(end) }
            }
            17 => Ask::Waiting,
            18 => self.setting(),
            _ if self.random.below(8) == 0 => Ask::DropDerived,
            _ => {
                let key = format!("k-{}", self.random.below(4));
                Ask::Derive { key, value: vec![self.random.below(256) as u8; 3] }
            }
        }
    }

    fn watch(&mut self) -> WatchId {
        WatchId::new(WATCHES[self.random.below(3) as usize]).unwrap()
    }

    fn setting(&mut self) -> Ask {
        let key = SettingKey::new("people", format!("é{}", self.random.below(5)));
        let expect = match self.random.below(3) {
            0 => Expect::Absent,
            1 => Expect::Version(1 + self.random.below(3)),
            _ => Expect::Anything,
        };
        match self.random.below(4) {
            0 => Ask::Unset { key, expect },
            1 => Ask::Settings {
                prefix: ["", "é", "é1", "e", "%"][self.random.below(5) as usize].into(),
            },
            _ => Ask::Set { key, value: self.random.below(100), expect },
        }
    }

    /// Mostly new lines in order; some early, some twice, some forked, some spoilt.
    fn append(&mut self) -> Ask {
        for _ in 0..self.random.below(9) {
            let chain =
                (1 + self.random.below(u64::from(DEVICES)) as u8, self.random.below(3) as usize);
            let chain = self.chains.get_mut(&chain).unwrap();
            let line = match self.random.below(6) {
                0 => chain.whisper("a", "private"),
                _ => chain.say("a"),
            };
            self.unsent.push(line);
        }
        let mut lines = Vec::new();
        for _ in 0..=self.random.below(8) {
            match self.random.below(12) {
                0 => lines.extend(self.random.pick(&self.sent).cloned()),
                1 if !self.unsent.is_empty() => {
                    let early = self.random.below(self.unsent.len() as u64) as usize;
                    lines.push(self.unsent.remove(early));
                }
                2 => {
                    let chain = self.random.pick(&[(1, 0), (2, 1), (3, 2)]).copied().unwrap();
                    lines.push(self.chains[&chain].draft("fork", None));
                }
                3 => {
                    if let Some(line) = self.random.pick(&self.unsent) {
                        let private = Some(b"spoilt".to_vec()).filter(|_| line.private.is_none());
                        lines.push(Incoming { private, ..line.clone() });
                    }
                }
                _ if !self.unsent.is_empty() => lines.push(self.unsent.remove(0)),
                _ => {}
            }
        }
        self.sent.extend(lines.iter().cloned());
        // A clock that is set back now and then.
        self.clock_ms += self.random.below(1_000) as i64 - 200;
        Ask::Append { ms: self.clock_ms, lines }
    }

    /// Learns how long the log is now and counts what came.
    pub(crate) async fn note(&mut self, ask: &Ask, answer: &str, store: &Store) {
        *self.counts.entry(ask.name()).or_default() += 1;
        for outcome in OUTCOMES {
            let count = answer.matches(outcome).count() as u64;
            *self.counts.entry(outcome).or_default() += count;
        }
        if let Ask::Append { .. } = ask {
            self.size = store.head(ORIGIN).await.unwrap().size;
        }
    }

    /// Builds the tree from the leaves and compares roots and proofs at some sizes.
    pub(crate) async fn audit(&mut self, store: &Store) {
        let lines = store.lines(ORIGIN, 0..self.size, u32::MAX).await.unwrap();
        let mut tree = Tree::new();
        let mut rx_ms = i64::MIN;
        for line in &lines {
            assert_eq!(line.place.index, tree.size());
            assert!(line.place.rx.ms >= rx_ms);
            rx_ms = line.place.rx.ms;
            tree.push(store::leaf_of(line).hash());
        }
        assert_eq!(store.head(ORIGIN).await.unwrap().root, tree.root());
        for _ in 0..40 {
            let size = 1 + self.random.below(self.size);
            let index = self.random.below(size);
            let path = store.inclusion(ORIGIN, index, size).await.unwrap();
            assert_eq!(Some(&path), tree.inclusion(index, size).as_ref());
            let root = store.root_at(ORIGIN, size).await.unwrap();
            merkle::inclusion(&tree.leaf(index).unwrap(), index, size, &path, &root).unwrap();
            let old = 1 + self.random.below(size);
            let path = store.consistency(ORIGIN, old, size).await.unwrap();
            assert_eq!(Some(path), tree.consistency(old, size));
        }
    }

    /// What was tested, once every kind of outcome has come.
    pub(crate) fn tally(&self) -> String {
        for outcome in OUTCOMES {
            assert!(self.counts[outcome] > 0, "no outcome was {outcome}: ask more");
        }
        let counts: Vec<String> =
            self.counts.iter().map(|(name, count)| format!("{count} {name}")).collect();
        format!("{} leaves; {}", self.size, counts.join(", "))
    }
}

impl Ask {
    fn name(&self) -> &'static str {
        match self {
            Ask::Append { .. } => "append",
            Ask::Publish => "publish",
            Ask::Erase { .. } => "erase",
            Ask::Private { .. } => "private",
            Ask::Range { .. } | Ask::Watch { .. } | Ask::Chain { .. } => "read",
            Ask::Proofs { .. } => "proofs",
            Ask::Waiting => "waiting",
            Ask::Set { .. } | Ask::Unset { .. } | Ask::Settings { .. } => "settings",
            Ask::Derive { .. } | Ask::DropDerived => "derived",
        }
    }

    /// The whole answer as text, refusals included.
    pub(crate) async fn answer(&self, store: &Store) -> String {
        match self {
            Ask::Append { ms, lines } => {
                format!("{:?}", store.append(ORIGIN, at(*ms), lines.clone()).await)
            }
            Ask::Publish => format!("{:?}", store.publish(ORIGIN, sign).await),
            Ask::Erase { index } => format!("{:?}", store.erase_private(&place(*index)).await),
            Ask::Private { index } => format!("{:?}", store.private(&place(*index)).await),
            Ask::Range { from, to, limit } => {
                format!("{:?}", store.lines(ORIGIN, *from..*to, *limit).await)
            }
            Ask::Watch { watch, after, limit } => {
                let after = after.map(place);
                format!("{:?}", store.lines_of_watch(watch, after.as_ref(), *limit).await)
            }
            Ask::Chain { device, watch, from } => {
                let dev = Chain::new(*device, "org").dev();
                let lines = store.lines_of_chain(dev, watch, *from, 50).await;
                format!("{lines:?} {:?}", store.tail(dev, watch).await)
            }
            Ask::Proofs { index, old, size } => format!(
                "{:?} {:?} {:?} {:?}",
                store.inclusion(ORIGIN, *index, *size).await,
                store.consistency(ORIGIN, *old, *size).await,
                store.root_at(ORIGIN, *size).await,
                store.leaf(ORIGIN, *index).await,
            ),
            Ask::Waiting => {
                format!("{:?} {:?}", store.held().await, store.quarantine(u32::MAX).await)
            }
            Ask::Set { key, value, expect } => {
                format!("{:?}", store.write_setting(key, value, *expect).await)
            }
            Ask::Unset { key, expect } => {
                format!("{:?}", store.remove_setting(key, *expect).await)
            }
            Ask::Settings { prefix } => format!("{:?}", store.settings("people", prefix).await),
            Ask::Derive { key, value } => {
                store.write_derived("folds", key, value).await.unwrap();
                format!("{:?}", store.derived("folds", key).await)
            }
            Ask::DropDerived => {
                store.drop_derived().await.unwrap();
                format!("{:?}", store.derived("folds", "k-1").await)
            }
        }
    }
}

fn place(index: u64) -> store::Place {
    store::Place { origin: ORIGIN.into(), index, rx: at(0) }
}
