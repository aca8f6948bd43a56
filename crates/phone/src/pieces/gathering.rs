//! From codes to a set: in any order, again and again, several sets beside each other.

use super::Piece;
use super::piece::set_of;
use ledger::order::Map;

/// The sets that were begun.
#[derive(Debug, Clone, Default)]
pub(crate) struct Gathering {
    sets: Map<String, Set>,
    /// Sets that are kept as lines already.
    done: Map<String, (u16, u16)>,
    latest: Option<String>,
}

#[derive(Debug, Clone)]
struct Set {
    part: (u16, u16),
    of: u16,
    pieces: Map<u16, Vec<u8>>,
}

/// What became of a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Taken {
    /// It was missing.
    New,
    /// It was there.
    Again,
    /// Its set is kept already.
    Done,
    /// It was the last one: the set's name and bytes.
    Whole(String, Vec<u8>),
    /// The set does not fit its digest, or its codes contradict each other: begun anew.
    Spoiled,
}

/// How far the set of the newest piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Progress {
    /// Which of the sets shown together, from 1, and how many they are.
    pub part: (u16, u16),
    /// Codes of it that are here.
    pub here: usize,
    /// Codes that it has.
    pub of: u16,
    /// The numbers of those that are missing.
    pub missing: Vec<u16>,
    /// Sets that are complete.
    pub done: usize,
}

/// Sets begun at a time: more are nobody's phone (ours).
const SETS_MAX: usize = 64;

impl Gathering {
    /// Takes a piece in.
    pub(crate) fn take(&mut self, piece: Piece) -> Taken {
        let name = piece.set.clone();
        self.latest = Some(name.clone());
        if self.done.contains_key(&name) {
            return Taken::Done;
        }
        if !self.sets.contains_key(&name) && self.sets.len() >= SETS_MAX {
            self.sets.pop_first();
        }
        let part = (piece.part, piece.parts);
        let begun = || Set { part, of: piece.of, pieces: Map::new() };
        let set = self.sets.or_insert_with(name.clone(), begun);
        let held = set.pieces.get(&piece.number);
        if set.of != piece.of || held.is_some_and(|held| *held != piece.bytes) {
            self.sets.remove(&name);
            return Taken::Spoiled;
        }
        let is_new = set.pieces.insert(piece.number, piece.bytes).is_none();
        if set.pieces.len() < usize::from(set.of) {
            return if is_new { Taken::New } else { Taken::Again };
        }
        let bytes: Vec<u8> = set.pieces.values().flatten().copied().collect();
        if set_of(&bytes) != name {
            self.sets.remove(&name);
            return Taken::Spoiled;
        }
        Taken::Whole(name, bytes)
    }

    /// The lines of a set are on the disk: its codes need not be held any longer.
    pub(crate) fn kept(&mut self, name: &str) {
        if let Some(set) = self.sets.remove(name) {
            self.done.insert(name.to_owned(), set.part);
        }
    }

    /// A set that holds nothing for this phone is begun anew if it is shown again.
    pub(crate) fn forget(&mut self, name: &str) {
        self.sets.remove(name);
    }

    /// How far it is; none before the first piece.
    pub(crate) fn progress(&self) -> Option<Progress> {
        let name = self.latest.as_ref()?;
        let done = self.done.len();
        if let Some(part) = self.done.get(name) {
            return Some(Progress { part: *part, here: 0, of: 0, missing: Vec::new(), done });
        }
        let set = self.sets.get(name)?;
        let missing = (1..=set.of).filter(|number| !set.pieces.contains_key(number)).collect();
        Some(Progress { part: set.part, here: set.pieces.len(), of: set.of, missing, done })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pieces::{Parcel, ParcelFault, cut};
    use crate::sync::SentLine;
    use ledger::{DeviceKey, SignedLine};

    fn lines(seed: u8, count: u32) -> (DeviceKey, Vec<SentLine>) {
        let key = DeviceKey::from_seed([seed; 32]);
        let line = |i: u32| {
            // What packs badly: a digest of its own in each line, as `prev` is.
            let digest = ledger::Digest::of(&[seed, i as u8, (i >> 8) as u8]);
            let bytes = format!(r#"{{"n":{i},"prev":"{digest}"}}"#).into_bytes();
            let signature = key.sign(&bytes);
            SentLine::of(&SignedLine { bytes, signature }, None)
        };
        let lines = (0..count).map(line).collect();
        (key, lines)
    }

    fn pieces(seed: u8, count: u32) -> Vec<Piece> {
        let (key, lines) = lines(seed, count);
        cut(key.public(), &lines).iter().map(|text| Piece::read(text).unwrap()).collect()
    }

    #[test]
    fn in_any_order_and_twice_the_lines_come_back() {
        let (key, sent) = lines(1, 20);
        let mut shown = pieces(1, 20);
        assert!(shown.len() > 4, "{}", shown.len());
        shown.reverse();
        let mut gathering = Gathering::default();
        for piece in &shown[1..] {
            assert_eq!(gathering.take(piece.clone()), Taken::New);
            assert_eq!(gathering.take(piece.clone()), Taken::Again);
        }
        let progress = gathering.progress().unwrap();
        assert_eq!(progress.missing, [shown.len() as u16], "the lost one is named");
        let Taken::Whole(name, bytes) = gathering.take(shown[0].clone()) else { panic!("whole") };
        assert_eq!(Parcel::open(&bytes).unwrap(), Parcel::new(key.public(), sent));
        // Not kept yet: shown again, it is whole again.
        assert!(matches!(gathering.take(shown[3].clone()), Taken::Whole(..)));
        gathering.kept(&name);
        assert_eq!(gathering.take(shown[0].clone()), Taken::Done);
        assert_eq!(gathering.progress().unwrap().done, 1);
    }

    #[test]
    fn two_phones_shown_alternately_are_kept_apart() {
        let (a, b) = (pieces(1, 20), pieces(2, 20));
        let mut gathering = Gathering::default();
        let mut whole = Vec::new();
        for (a, b) in a.iter().zip(&b) {
            for piece in [a, b] {
                if let Taken::Whole(_, bytes) = gathering.take(piece.clone()) {
                    whole.push(Parcel::open(&bytes).unwrap().key);
                }
            }
        }
        let keys = [1, 2].map(|seed| DeviceKey::from_seed([seed; 32]).public());
        assert_eq!(whole, keys);
    }

    #[test]
    fn a_night_of_lines_is_cut_into_sets_that_are_whole_one_by_one() {
        let shown = pieces(1, 95);
        let parts: Vec<u16> = shown.iter().map(|piece| piece.part).collect();
        assert_eq!((parts[0], *parts.last().unwrap(), shown[0].parts), (1, 5, 5));
        let mut gathering = Gathering::default();
        let whole = shown
            .into_iter()
            .filter(|piece| matches!(gathering.take(piece.clone()), Taken::Whole(..)));
        assert_eq!(whole.count(), 5);
    }

    /// A code whose sum is right and whose set is not what its name says: made by hand, or by chance.
    #[test]
    fn a_set_that_does_not_fit_its_digest_is_begun_anew() {
        let mut shown = pieces(1, 20);
        shown[0].bytes[5] ^= 1;
        let mut gathering = Gathering::default();
        let last = shown.pop().unwrap();
        for piece in shown {
            assert_eq!(gathering.take(piece), Taken::New);
        }
        assert_eq!(gathering.take(last.clone()), Taken::Spoiled);
        assert_eq!(gathering.take(last.clone()), Taken::New, "begun anew");
        let other_count = Piece { of: last.of + 1, ..last };
        assert_eq!(gathering.take(other_count), Taken::Spoiled);
    }

    #[test]
    fn what_is_no_parcel_says_why() {
        assert_eq!(Parcel::open(b"no parcel"), Err(ParcelFault::Unreadable));
        let newer = miniz_oxide::deflate::compress_to_vec(br#"{"v":2,"other":1}"#, 6);
        assert_eq!(Parcel::open(&newer), Err(ParcelFault::Newer));
        // 3 MB of nothing pack to 3 kB and are not unpacked.
        let bomb = miniz_oxide::deflate::compress_to_vec(&vec![b' '; 3_000_000], 6);
        assert_eq!(Parcel::open(&bomb), Err(ParcelFault::Unreadable));
    }
}
