//! The rounds of one state of the search, with cheap insertion, removal and going back.

use super::Sharing;
use crate::random::Random;

/// One position in this many is overlooked, so that equal states grow apart (Christiaens and
/// Vanden Berghe 2020 call it a blink).
const OVERLOOK_MASK: u64 = 63;

pub(crate) struct Rounds<'a> {
    sharing: Sharing<'a>,
    pub(crate) rounds: Vec<Vec<u16>>,
    pub(crate) length: Vec<i64>,
    /// Every unit of a round above this is priced.
    pub(crate) caps: Vec<i64>,
    home: Vec<u16>,
    saved: Vec<(usize, Vec<u16>, i64)>,
    spare: Vec<Vec<u16>>,
    is_saved: Vec<bool>,
}

const NOWHERE: u16 = u16::MAX;

impl<'a> Rounds<'a> {
    pub(crate) fn empty(sharing: Sharing<'a>) -> Rounds<'a> {
        let m = sharing.guards;
        let stay_at_post = sharing.post.map_or(0, |p| sharing.stay[p]);
        Rounds {
            sharing,
            rounds: vec![Vec::new(); m],
            length: vec![stay_at_post; m],
            caps: sharing.caps.map_or_else(|| vec![0; m], <[i64]>::to_vec),
            home: vec![NOWHERE; sharing.walks.len()],
            saved: Vec::new(),
            spare: Vec::new(),
            is_saved: vec![false; m],
        }
    }

    pub(crate) fn home(&self, stop: usize) -> Option<usize> {
        (self.home[stop] != NOWHERE).then_some(self.home[stop] as usize)
    }

    pub(crate) fn total(&self) -> i64 {
        self.length.iter().sum()
    }

    pub(crate) fn longest(&self) -> i64 {
        self.length.iter().copied().max().unwrap_or(0)
    }

    pub(crate) fn over(&self) -> i64 {
        self.length.iter().zip(&self.caps).map(|(&l, &cap)| (l - cap).max(0)).sum()
    }

    /// The stops before and after a position of a round, the post or the round's other end included.
    #[inline]
    fn around(&self, round: &[u16], before: usize, after: usize) -> (usize, usize) {
        match self.sharing.post {
            Some(post) => (
                if before == usize::MAX { post } else { round[before] as usize },
                if after == round.len() { post } else { round[after] as usize },
            ),
            None => (
                round[if before == usize::MAX { round.len() - 1 } else { before }] as usize,
                round[if after == round.len() { 0 } else { after }] as usize,
            ),
        }
    }

    /// The cheapest place for a stop when every unit above a cap costs `weight` more.
    pub(crate) fn best_place(
        &self,
        stop: usize,
        weight: i64,
        random: &mut Random,
    ) -> Option<(usize, usize, i64)> {
        let walks = self.sharing.walks;
        let from_stop = walks.row(stop);
        let mut best: Option<(i64, usize, usize, i64)> = None;
        let mut tried_empty = false;
        for r in 0..self.rounds.len() {
            let round = &self.rounds[r];
            if self.sharing.may.is_some_and(|may| !may[r][stop]) {
                continue;
            }
            if round.is_empty() {
                if tried_empty && self.sharing.caps.is_none() {
                    continue;
                }
                tried_empty = true;
            }
            let Some((at, detour)) = self.cheapest_in(round, stop, from_stop, random) else {
                continue;
            };
            let added = detour + self.sharing.stay[stop];
            let over = |l: i64| (l - self.caps[r]).max(0);
            let cost = added + weight * (over(self.length[r] + added) - over(self.length[r]));
            if best.is_none_or(|(c, ..)| cost < c) {
                best = Some((cost, r, at, added));
            }
        }
        best.map(|(_, r, at, added)| (r, at, added))
    }

    #[inline]
    fn cheapest_in(
        &self,
        round: &[u16],
        stop: usize,
        from_stop: &[i32],
        random: &mut Random,
    ) -> Option<(usize, i64)> {
        let walks = self.sharing.walks;
        if round.is_empty() {
            let detour = self.sharing.post.map_or(0, |p| walks.ms(p, stop) + walks.ms(stop, p));
            return Some((0, detour));
        }
        let mut best: Option<(usize, i64)> = None;
        let last = if self.sharing.post.is_some() { round.len() } else { round.len() - 1 };
        let (mut before, _) = self.around(round, usize::MAX, 0);
        let mut bits = 0u64;
        for at in 0..=last {
            let after =
                if at == round.len() { self.sharing.post.unwrap_or(0) } else { round[at] as usize };
            if at % 10 == 0 {
                bits = random.next_u64();
            }
            let overlooked = bits & OVERLOOK_MASK == 0;
            bits >>= 6;
            let detour =
                walks.ms(before, stop) + i64::from(from_stop[after]) - walks.ms(before, after);
            if !overlooked && best.is_none_or(|(_, d)| detour < d) {
                best = Some((at, detour));
            }
            before = after;
        }
        best
    }

    pub(crate) fn insert(&mut self, stop: usize, round: usize, at: usize, added: i64) {
        self.save(round);
        self.rounds[round].insert(at, stop as u16);
        self.length[round] += added;
        self.home[stop] = round as u16;
    }

    /// Takes out `count` stops from `at` on, reading on from the front past the end.
    pub(crate) fn remove_string(
        &mut self,
        round: usize,
        at: usize,
        count: usize,
        out: &mut Vec<usize>,
    ) {
        self.save(round);
        let mut at = at;
        for _ in 0..count {
            if at >= self.rounds[round].len() {
                at = 0;
            }
            let walks = self.sharing.walks;
            let line = &self.rounds[round];
            let stop = line[at] as usize;
            let before = if at == 0 { usize::MAX } else { at - 1 };
            let (a, b) = self.around(line, before, at + 1);
            let joined = if line.len() == 1 { 0 } else { walks.ms(a, b) };
            let freed = walks.ms(a, stop) + walks.ms(stop, b) - joined + self.sharing.stay[stop];
            self.length[round] -= freed;
            self.rounds[round].remove(at);
            self.home[stop] = NOWHERE;
            out.push(stop);
        }
    }

    /// Replaces the order of one round, its stops unchanged.
    pub(crate) fn reorder(&mut self, round: usize, order: &[u16], length: i64) {
        self.save(round);
        self.rounds[round].clear();
        self.rounds[round].extend_from_slice(order);
        self.length[round] = length;
    }

    fn save(&mut self, round: usize) {
        if !self.is_saved[round] {
            self.is_saved[round] = true;
            let mut copy = self.spare.pop().unwrap_or_default();
            copy.clear();
            copy.extend_from_slice(&self.rounds[round]);
            self.saved.push((round, copy, self.length[round]));
        }
    }

    /// Accepts everything since the last call of `keep` or `back`.
    pub(crate) fn keep(&mut self) {
        for (round, copy, _) in self.saved.drain(..) {
            self.is_saved[round] = false;
            self.spare.push(copy);
        }
    }

    /// Goes back to the last `keep` or `back`.
    pub(crate) fn back(&mut self) {
        for (round, copy, length) in self.saved.drain(..) {
            self.is_saved[round] = false;
            self.length[round] = length;
            self.spare.push(std::mem::replace(&mut self.rounds[round], copy));
            for &stop in &self.rounds[round] {
                self.home[stop as usize] = round as u16;
            }
        }
    }

    pub(crate) fn load(&mut self, rounds: &[Vec<u16>], length: &[i64]) {
        self.keep();
        self.rounds.clone_from_slice(rounds);
        self.length.copy_from_slice(length);
        for (r, round) in rounds.iter().enumerate() {
            for &stop in round {
                self.home[stop as usize] = r as u16;
            }
        }
    }
}
