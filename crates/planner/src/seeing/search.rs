//! A closed order of candidates that together see every witness, made shorter by taking a neighbourhood out and putting
//! back what is missing (P. Shaw, *Using constraint programming and local search methods to solve vehicle routing
//! problems*, 1998), with exchanges of two legs in between.

use super::pool::Pool;
use super::scene::Place;
use crate::random::Random;

/// A closed order and how often each witness is seen from it.
#[derive(Clone)]
pub(super) struct Order {
    pub(super) stops: Vec<u32>,
    /// Length of the leg that ends at each stop; empty where all walks count one.
    legs: Vec<f64>,
    counts: Vec<u16>,
    /// Witnesses nobody sees, one bit each.
    unseen: Vec<u64>,
}

impl Order {
    pub(super) fn new(pool: &Pool<'_>, stops: Vec<u32>) -> Self {
        let count = pool.witnesses.len();
        let mut order = Self {
            stops: Vec::new(),
            legs: Vec::new(),
            counts: vec![0; count],
            unseen: vec![0; count.div_ceil(64)],
        };
        (0..count).for_each(|w| order.unseen[w / 64] |= 1 << (w % 64));
        for stop in stops {
            order.note(pool, stop);
            order.stops.push(stop);
        }
        order.measure(pool);
        order
    }

    pub(super) fn length(&self, pool: &Pool<'_>) -> f64 {
        let n = self.stops.len();
        (0..n).map(|i| pool.length(self.stops[i], self.stops[(i + 1) % n])).sum()
    }

    /// Measures all legs anew.
    fn measure(&mut self, pool: &Pool<'_>) {
        self.legs.clear();
        if !pool.fewest {
            let n = self.stops.len();
            self.legs
                .extend((0..n).map(|i| pool.length(self.stops[(i + n - 1) % n], self.stops[i])));
        }
    }

    /// Measures the legs to and from the stop at a position.
    fn measure_at(&mut self, pool: &Pool<'_>, at: usize) {
        let n = self.stops.len();
        if pool.fewest || n == 0 {
            return;
        }
        let (before, at, after) = ((at + n - 1) % n, at % n, (at + 1) % n);
        self.legs[at] = pool.length(self.stops[before], self.stops[at]);
        self.legs[after] = pool.length(self.stops[at], self.stops[after]);
    }

    fn note(&mut self, pool: &Pool<'_>, stop: u32) {
        for_bits(&pool.candidates[stop as usize].sees, |w| {
            self.counts[w] += 1;
            self.unseen[w / 64] &= !(1 << (w % 64));
        });
    }

    fn forget(&mut self, pool: &Pool<'_>, stop: u32) {
        for_bits(&pool.candidates[stop as usize].sees, |w| {
            self.counts[w] -= 1;
            if self.counts[w] == 0 {
                self.unseen[w / 64] |= 1 << (w % 64);
            }
        });
    }

    pub(super) fn insert(&mut self, pool: &Pool<'_>, at: usize, stop: u32) {
        self.note(pool, stop);
        self.stops.insert(at, stop);
        if !pool.fewest {
            self.legs.insert(at, 0.0);
        }
        self.measure_at(pool, at);
    }

    pub(super) fn remove(&mut self, pool: &Pool<'_>, at: usize) -> u32 {
        let stop = self.stops.remove(at);
        if !pool.fewest {
            self.legs.remove(at);
        }
        self.measure_at(pool, at);
        self.forget(pool, stop);
        stop
    }

    /// Puts another candidate in the place of one.
    pub(super) fn replace(&mut self, pool: &Pool<'_>, at: usize, stop: u32) {
        let old = std::mem::replace(&mut self.stops[at], stop);
        self.note(pool, stop);
        self.forget(pool, old);
        self.measure_at(pool, at);
    }

    /// The witnesses that only this stop sees.
    pub(super) fn owed(&self, pool: &Pool<'_>, stop: u32) -> Vec<u64> {
        let mut bits = vec![0; self.unseen.len()];
        for_bits(&pool.candidates[stop as usize].sees, |w| {
            if self.counts[w] == 1 {
                bits[w / 64] |= 1 << (w % 64);
            }
        });
        bits
    }

    /// What leaving out the stop at a position saves.
    pub(super) fn saving(&self, pool: &Pool<'_>, at: usize) -> f64 {
        let n = self.stops.len();
        if n < 2 {
            return 0.0;
        }
        let (a, x, b) = (self.stops[(at + n - 1) % n], self.stops[at], self.stops[(at + 1) % n]);
        if pool.fewest { 1.0 } else { pool.length(a, x) + pool.length(x, b) - pool.length(a, b) }
    }

    /// The cheapest position for a candidate, and what it costs.
    pub(super) fn position(&self, pool: &Pool<'_>, stop: u32) -> (usize, f64) {
        let n = self.stops.len();
        if n == 0 || pool.fewest {
            return (n, 1.0);
        }
        let row = pool.row(stop);
        let mut best = (n, f64::INFINITY);
        let mut last = row[self.stops[n - 1] as usize];
        for i in 0..n {
            let next = row[self.stops[i] as usize];
            let cost = last + next - self.legs[i];
            if cost < best.1 {
                best = (i, cost);
            }
            last = next;
        }
        best
    }

    /// Leaves out stops that see nothing alone, the most costly first.
    pub(super) fn prune(&mut self, pool: &Pool<'_>) {
        loop {
            let mut best: Option<(f64, usize)> = None;
            for at in 0..self.stops.len() {
                let saving = self.saving(pool, at);
                if best.is_none_or(|(most, _)| saving > most) && self.is_idle(pool, self.stops[at])
                {
                    best = Some((saving, at));
                }
            }
            let Some((_, at)) = best.filter(|_| self.stops.len() > 1) else { return };
            self.remove(pool, at);
        }
    }

    fn is_idle(&self, pool: &Pool<'_>, stop: u32) -> bool {
        let sees = &pool.candidates[stop as usize].sees;
        sees.iter().enumerate().all(|(word, &bits)| {
            let mut bits = bits;
            while bits != 0 {
                if self.counts[word * 64 + bits.trailing_zeros() as usize] < 2 {
                    return false;
                }
                bits &= bits - 1;
            }
            true
        })
    }

    /// Adds candidates until every witness is seen; false when one has no seer at all.
    pub(super) fn repair(&mut self, pool: &Pool<'_>, random: &mut Random, greed: f64) -> bool {
        while let Some(w) = self.hardest(pool, random) {
            let seers = &pool.seers[w];
            if seers.is_empty() {
                return false;
            }
            let step = seers.len().div_ceil(SEERS_MAX);
            let offset = random.below(step);
            let mut best: Option<(f64, u32, usize)> = None;
            for &c in seers.iter().skip(offset).step_by(step) {
                let sees = &pool.candidates[c as usize].sees;
                let gain: u32 =
                    sees.iter().zip(&self.unseen).map(|(s, u)| (s & u).count_ones()).sum();
                let (at, cost) = self.position(pool, c);
                let noise = 1.0 + 0.25 * random.unit();
                let score =
                    (cost.max(0.0) + pool.crumb) * noise / libm::pow(f64::from(gain.max(1)), greed);
                if best.is_none_or(|(least, ..)| score < least) {
                    best = Some((score, c, at));
                }
            }
            let Some((_, c, at)) = best else { return false };
            self.insert(pool, at, c);
        }
        true
    }

    /// Adds those places that the walk passes anyway and from which something is seen that is not seen yet.
    pub(super) fn join_passing(&mut self, pool: &mut Pool<'_>, passing: &[(Option<u32>, Place)]) {
        for &(_, place) in passing.iter().filter(|(stop, _)| stop.is_none()) {
            let seen = pool.seen_from(place);
            if seen.iter().zip(&self.unseen).all(|(seen, unseen)| seen & unseen == 0) {
                continue;
            }
            if let Some(stop) = pool.add(place) {
                let (at, _) = self.position(pool, stop);
                self.insert(pool, at, stop);
            }
        }
    }

    /// Of a few unseen witnesses the one with the fewest seers.
    fn hardest(&self, pool: &Pool<'_>, random: &mut Random) -> Option<usize> {
        let words = self.unseen.len();
        if words == 0 {
            return None;
        }
        let start = random.below(words);
        let mut best: Option<usize> = None;
        let mut looked = 0;
        for k in 0..words {
            let word = (start + k) % words;
            let mut bits = self.unseen[word];
            while bits != 0 {
                let w = word * 64 + bits.trailing_zeros() as usize;
                bits &= bits - 1;
                looked += 1;
                if best.is_none_or(|b| pool.seers[w].len() < pool.seers[b].len()) {
                    best = Some(w);
                }
            }
            if looked >= 12 {
                break;
            }
        }
        best
    }

    /// Adds what is missing, leaves out what is idle, and shortens.
    pub(super) fn mend(&mut self, pool: &Pool<'_>, random: &mut Random) {
        let greed = 0.5 + random.unit();
        self.repair(pool, random, greed);
        self.prune(pool);
        self.straighten(pool);
    }

    /// Takes out a stop and those nearest to it on foot, up to a share of all.
    pub(super) fn ruin(&mut self, pool: &Pool<'_>, random: &mut Random, share: f64) {
        if self.stops.is_empty() {
            return;
        }
        let n = self.stops.len();
        let centre = self.stops[random.below(n)];
        let most = ((n as f64 * share) as usize).clamp(1, RUIN_MAX);
        let count = 1 + random.below(most);
        let mut near: Vec<(f64, u32)> = if pool.fewest {
            self.stops.iter().map(|&s| (pool.apart(centre, s), s)).collect()
        } else {
            self.stops.iter().map(|&s| (pool.length(centre, s), s)).collect()
        };
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for &(_, stop) in near.iter().take(count) {
            if let Some(at) = self.stops.iter().position(|&s| s == stop) {
                self.remove(pool, at);
            }
        }
    }

    /// Exchanges of two legs and moves of short chains until none shortens the walk.
    pub(super) fn straighten(&mut self, pool: &Pool<'_>) {
        let n = self.stops.len();
        if pool.fewest || n < 4 {
            return;
        }
        let mut better = true;
        while better {
            better = false;
            for i in 0..n - 1 {
                let mut next = i + 2;
                while let Some(j) = self.shorter_exchange(pool, i, next) {
                    self.stops[i + 1..=j].reverse();
                    self.measure(pool);
                    better = true;
                    next = j + 1;
                }
            }
            better |= self.move_chains(pool);
        }
    }

    /// The first leg from position `next` on that is better exchanged with the one that leaves position `i`.
    fn shorter_exchange(&self, pool: &Pool<'_>, i: usize, next: usize) -> Option<usize> {
        let n = self.stops.len();
        let (row_a, row_b) = (pool.row(self.stops[i]), pool.row(self.stops[i + 1]));
        let own = self.legs[i + 1];
        // The last leg shares the first stop.
        (next..if i == 0 { n - 1 } else { n }).find(|&j| {
            let (c, after) = (self.stops[j] as usize, (j + 1) % n);
            let d = self.stops[after] as usize;
            let now = own + self.legs[after];
            row_a[c] + row_b[d] < now * (1.0 - 1e-12) - pool.crumb * 1e-6
        })
    }

    fn move_chains(&mut self, pool: &Pool<'_>) -> bool {
        let n = self.stops.len();
        let mut better = false;
        for length in 1..=3.min(n.saturating_sub(3)) {
            for i in 0..n {
                if i + length > n {
                    break;
                }
                let (before, after) = (self.stops[(i + n - 1) % n], self.stops[(i + length) % n]);
                let (head, tail) = (self.stops[i], self.stops[i + length - 1]);
                let saved = self.legs[i] + self.legs[(i + length) % n] - pool.length(before, after);
                if saved <= pool.crumb {
                    continue;
                }
                let chain: Vec<u32> = self.stops[i..i + length].to_vec();
                let rest: Vec<u32> =
                    self.stops[i + length..].iter().chain(&self.stops[..i]).copied().collect();
                let mut best = (saved - pool.crumb * 1e-3, usize::MAX, false);
                let (to_head, to_tail) = (pool.row(head), pool.row(tail));
                for k in 0..rest.len() - 1 {
                    let (a, b) = (rest[k] as usize, rest[k + 1] as usize);
                    // The leg that ends at the stop after.
                    let open = self.legs[(i + length + k + 1) % n];
                    for (cost, turned) in [
                        (to_head[a] + to_tail[b] - open, false),
                        (to_tail[a] + to_head[b] - open, true),
                    ] {
                        if cost < best.0 {
                            best = (cost, k, turned);
                        }
                    }
                }
                if best.1 != usize::MAX {
                    let mut stops = rest[..=best.1].to_vec();
                    if best.2 {
                        stops.extend(chain.iter().rev())
                    } else {
                        stops.extend(&chain)
                    }
                    stops.extend(&rest[best.1 + 1..]);
                    self.stops = stops;
                    self.measure(pool);
                    better = true;
                }
            }
        }
        better
    }
}

/// Stops taken out at once, at most.
const RUIN_MAX: usize = 40;

/// Of many seers only so many are weighed.
const SEERS_MAX: usize = 48;

pub(super) fn for_bits(bits: &[u64], mut visit: impl FnMut(usize)) {
    for (word, &bits) in bits.iter().enumerate() {
        let mut bits = bits;
        while bits != 0 {
            visit(word * 64 + bits.trailing_zeros() as usize);
            bits &= bits - 1;
        }
    }
}
