//! One device's lines of one watch, each linked to the line before by its id.

use crate::digest::{DeviceId, LineId};
use crate::ids::WatchId;
use crate::line::Line;
use crate::verified::Verified;
use std::collections::BTreeMap;
use std::fmt;

/// Where a chain ends: enough to judge the line that comes next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tip {
    /// The device.
    pub dev: DeviceId,
    /// The watch.
    pub watch: WatchId,
    /// How many lines the chain has: the `seq` of the next one.
    pub count: u64,
    /// The id of its last line; zeros if there is none.
    pub last: LineId,
}

/// Why a line does not continue a chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ChainFault {
    /// The line is another device's or belongs to another watch.
    OtherChain,
    /// Lines between are missing: keep this one aside and ask for them.
    Gap {
        /// The first missing `seq`.
        expected: u64,
        /// The `seq` that came.
        found: u64,
    },
    /// A line with this `seq` is already there: the same one again, or a fork.
    Taken {
        /// The `seq` of both.
        seq: u64,
    },
    /// The number fits, but `prev` is not the id of the last line: a line was changed, or two
    /// devices write with one key.
    Link {
        /// The `seq` of the line.
        seq: u64,
    },
}

impl fmt::Display for ChainFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChainFault::OtherChain => f.write_str("the line belongs to another chain"),
            ChainFault::Gap { expected, found } => {
                write!(f, "line {found} came, but lines {expected} to {} are missing", found - 1)
            }
            ChainFault::Taken { seq } => write!(f, "the chain already has a line {seq}"),
            ChainFault::Link { seq } => {
                write!(f, "line {seq} does not name the line before it: one of them was changed")
            }
        }
    }
}

impl std::error::Error for ChainFault {}

impl Tip {
    /// The tip of a chain without lines.
    pub fn start(dev: DeviceId, watch: WatchId) -> Tip {
        Tip { dev, watch, count: 0, last: LineId::default() }
    }

    /// Judges whether `line` comes next and, if so, moves on to it.
    pub fn extend(&mut self, line: &Verified<Line>) -> Result<(), ChainFault> {
        if line.dev != self.dev || line.watch != self.watch {
            return Err(ChainFault::OtherChain);
        }
        self.follow(line.seq, line.prev, line.id())
    }

    /// As [`Tip::extend`], from the three values alone, for callers that keep no whole lines.
    pub fn follow(&mut self, seq: u64, prev: LineId, id: LineId) -> Result<(), ChainFault> {
        if seq < self.count {
            return Err(ChainFault::Taken { seq });
        }
        if seq > self.count {
            return Err(ChainFault::Gap { expected: self.count, found: seq });
        }
        if prev != self.last {
            return Err(ChainFault::Link { seq });
        }
        self.count += 1;
        self.last = id;
        Ok(())
    }
}

/// What a set of verified lines says about the chains in it. It depends on the set alone, not on
/// the order in which the lines came.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Chains {
    chains: BTreeMap<(WatchId, DeviceId), Held>,
}

/// The lines held of one chain.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Held {
    /// Ids by `seq`, each with the `prev` it names; more than one id at a `seq` is a fork.
    lines: BTreeMap<u64, BTreeMap<LineId, LineId>>,
}

/// Something wrong or missing in a chain.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Flaw {
    /// No line is held from `first` to `last`, but a later one is.
    Missing {
        /// First missing `seq`.
        first: u64,
        /// Last missing `seq`.
        last: u64,
    },
    /// Several lines claim the same place: a copied key or a phone restored from a copy.
    Fork {
        /// The place.
        seq: u64,
        /// All of them, in order.
        ids: Vec<LineId>,
    },
    /// The line at `seq` names a line before it that is not the one held.
    Broken {
        /// The place of the later line.
        seq: u64,
        /// The later line.
        id: LineId,
    },
}

impl Chains {
    /// Adds a line. The same line again changes nothing.
    pub fn add(&mut self, line: &Verified<Line>) {
        let held = self.chains.entry((line.watch.clone(), line.dev)).or_default();
        held.lines.entry(line.seq).or_default().insert(line.id(), line.prev);
    }

    /// The chains in order of watch and device.
    pub fn iter(&self) -> impl Iterator<Item = (&WatchId, DeviceId, &Held)> {
        self.chains.iter().map(|((watch, dev), held)| (watch, *dev, held))
    }

    /// One chain.
    pub fn get(&self, watch: &WatchId, dev: DeviceId) -> Option<&Held> {
        self.chains.get(&(watch.clone(), dev))
    }
}

impl Held {
    /// How many lines stand without gap, fork or broken link from the first on, and the last of them.
    pub fn whole(&self) -> (u64, LineId) {
        let (mut count, mut last) = (0, LineId::default());
        while let Some(ids) = self.lines.get(&count) {
            match ids.first_key_value() {
                Some((id, prev)) if ids.len() == 1 && *prev == last => last = *id,
                _ => break,
            }
            count += 1;
        }
        (count, last)
    }

    /// Everything wrong or missing, in order of place.
    pub fn flaws(&self) -> Vec<Flaw> {
        let mut flaws = Vec::new();
        let mut expected = 0;
        for (seq, ids) in &self.lines {
            if *seq > expected {
                flaws.push(Flaw::Missing { first: expected, last: seq - 1 });
            }
            if ids.len() > 1 {
                flaws.push(Flaw::Fork { seq: *seq, ids: ids.keys().copied().collect() });
            }
            let before = seq.checked_sub(1).and_then(|seq| self.lines.get(&seq));
            for (id, prev) in ids {
                // A first line's `prev` was checked when the line was verified.
                if before.is_some_and(|before| !before.contains_key(prev)) {
                    flaws.push(Flaw::Broken { seq: *seq, id: *id });
                }
            }
            expected = seq + 1;
        }
        flaws
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Auth, Clk, DeviceKey, PersonId, line::VERSION};
    use serde_json::{Map, json};

    fn key() -> DeviceKey {
        DeviceKey::from_seed([7; 32])
    }

    fn line(seq: u64, prev: LineId, mark: u64) -> Verified<Line> {
        let line = Line {
            v: VERSION,
            kind: "seen".into(),
            dev: key().device(),
            watch: WatchId::new("w-1").unwrap(),
            seq,
            prev,
            who: PersonId::new("p-1").unwrap(),
            auth: Auth::Pin,
            clk: Clk { wall: 1, mono: 1, boot: "b".into(), off: None, err: None, age: None, tz: 0 },
            head: None,
            app: "test".into(),
            body: Map::from_iter([("mark".to_owned(), json!(mark))]),
            private: None,
        };
        Verified::check(line.sign(&key()).unwrap(), &key().public()).unwrap()
    }

    fn chain(count: u64) -> Vec<Verified<Line>> {
        let mut lines: Vec<Verified<Line>> = Vec::new();
        for seq in 0..count {
            let prev = lines.last().map_or(LineId::default(), |before| before.id());
            lines.push(line(seq, prev, 0));
        }
        lines
    }

    #[test]
    fn a_tip_takes_only_the_next_line() {
        let lines = chain(3);
        let mut tip = Tip::start(key().device(), WatchId::new("w-1").unwrap());
        assert_eq!(tip.extend(&lines[1]), Err(ChainFault::Gap { expected: 0, found: 1 }));
        assert_eq!(tip.extend(&lines[0]), Ok(()));
        assert_eq!(tip.extend(&lines[0]), Err(ChainFault::Taken { seq: 0 }));
        let stranger = line(1, LineId(crate::Digest::of(b"other")), 0);
        assert_eq!(tip.extend(&stranger), Err(ChainFault::Link { seq: 1 }));
        assert_eq!(tip.extend(&lines[1]), Ok(()));
        assert_eq!((tip.count, tip.last), (2, lines[1].id()));
        let mut other = Tip::start(key().device(), WatchId::org());
        assert_eq!(other.extend(&lines[0]), Err(ChainFault::OtherChain));
    }

    #[test]
    fn flaws_are_named_whatever_the_order() {
        let lines = chain(6);
        let fork = line(3, lines[2].id(), 1);
        let cut = line(5, LineId(crate::Digest::of(b"other")), 2);
        let mut set = [&lines[0], &lines[2], &lines[3], &fork, &lines[4], &cut];
        let expected = vec![
            Flaw::Missing { first: 1, last: 1 },
            Flaw::Fork {
                seq: 3,
                ids: {
                    let mut ids = vec![lines[3].id(), fork.id()];
                    ids.sort();
                    ids
                },
            },
            Flaw::Broken { seq: 5, id: cut.id() },
        ];
        for _ in 0..set.len() {
            set.rotate_left(1);
            let mut chains = Chains::default();
            set.iter().for_each(|line| chains.add(line));
            set.iter().for_each(|line| chains.add(line));
            let (_, _, held) = chains.iter().next().unwrap();
            assert_eq!(held.flaws(), expected);
            assert_eq!(held.whole(), (1, lines[0].id()));
        }
    }

    #[test]
    fn a_whole_chain_has_no_flaw() {
        let lines = chain(4);
        let mut chains = Chains::default();
        lines.iter().rev().for_each(|line| chains.add(line));
        let held = chains.get(&lines[0].watch, key().device()).unwrap();
        assert_eq!(held.flaws(), []);
        assert_eq!(held.whole(), (4, lines[3].id()));
    }
}
