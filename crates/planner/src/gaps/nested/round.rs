//! One round with its looks, what it costs, and where another look costs least.

use super::super::Demands;
use crate::random::Random;

/// Price of a millisecond over a gap, in milliseconds of walking.
const WEIGHT: i64 = 12;
/// Most looks at one stop in a round.
const LOOKS_MAX: usize = 12;
/// One place in this many is overlooked, so that equal states grow apart.
const OVERLOOK: usize = 24;

/// Looks in walking order; the round closes.
#[derive(Clone, Debug, Default)]
pub(super) struct Round {
    pub(super) looks: Vec<u16>,
    /// End of each look after the beginning of the first.
    ends: Vec<i64>,
    /// Time from each look to the next one at the same stop, over the end of the round if need be.
    until_next: Vec<i64>,
    /// Walking and looking, back to the beginning.
    pub(super) length: i64,
    /// By how much gaps are exceeded, all together.
    pub(super) over: i64,
    /// The stops, in the order in which they first come, with the number of their looks.
    stops: Vec<(u16, u16)>,
}

impl Round {
    pub(super) fn cost(&self) -> i64 {
        self.length + WEIGHT * self.over
    }

    pub(super) fn comes_often(&self, stop: usize) -> bool {
        self.stops.iter().any(|&(s, looks)| usize::from(s) == stop && looks > 1)
    }

    pub(super) fn remove_all(&mut self, stop: usize, demands: &Demands) {
        self.looks.retain(|&s| usize::from(s) != stop);
        self.measure(demands);
    }

    /// Takes out the first look at a stop from a place of the round on.
    pub(super) fn remove_one(&mut self, stop: usize, from: usize, demands: &Demands) {
        let n = self.looks.len();
        let at = (0..n).map(|i| (from + i) % n).find(|&i| usize::from(self.looks[i]) == stop);
        if let Some(at) = at {
            self.looks.remove(at);
            self.measure(demands);
        }
    }

    /// Adds looks at a stop, each where it costs least, until its gap is kept or another look does not pay.
    pub(super) fn add_looks(&mut self, stop: usize, demands: &Demands, random: &mut Random) {
        for _ in 0..LOOKS_MAX {
            let own = self.over_of(stop, demands.gap_ms[stop]);
            if own == Some(0) {
                return;
            }
            let Some((added, at)) = self.best_place(stop, demands, random) else { return };
            if own.is_some() && added >= 0 {
                return;
            }
            self.looks.insert(at, stop as u16);
            self.measure(demands);
        }
    }

    /// Takes out looks without which the round costs less.
    pub(super) fn drop_needless(&mut self, demands: &Demands) {
        let often = self.stops.iter().filter(|s| s.1 > 1).map(|s| s.0);
        for stop in often.collect::<Vec<_>>() {
            let mut at = 0;
            while at < self.looks.len() {
                if self.looks[at] == stop && self.comes_often(usize::from(stop)) {
                    let mut without = self.clone();
                    without.looks.remove(at);
                    without.measure(demands);
                    if without.cost() <= self.cost() {
                        *self = without;
                        continue;
                    }
                }
                at += 1;
            }
        }
    }

    /// By how much the gap of a stop is exceeded; none when the round does not look at it.
    fn over_of(&self, stop: usize, gap: i64) -> Option<i64> {
        let own = self.looks.iter().zip(&self.until_next).filter(|(s, _)| usize::from(**s) == stop);
        own.map(|(_, &until)| (until - gap).max(0)).reduce(|a, b| a + b)
    }

    /// The place where a look at a stop adds least, and what it adds.
    ///
    /// A look that lengthens the round by `added` lengthens, of every stop, the one gap that spans its place.
    fn best_place(
        &self,
        stop: usize,
        demands: &Demands,
        random: &mut Random,
    ) -> Option<(i64, usize)> {
        let (walks, stay) = (&demands.walks, demands.stay_ms[stop]);
        let gap = demands.gap_ms[stop];
        let n = self.looks.len();
        if n == 0 {
            return Some((stay + WEIGHT * (stay - gap).max(0), 0));
        }
        let mut spans = Spans::new(self, stop, demands);
        let mut best: Option<(i64, usize)> = None;
        for at in 0..n {
            let before = usize::from(self.looks[if at == 0 { n - 1 } else { at - 1 }]);
            let after = usize::from(self.looks[at]);
            if at > 0 {
                spans.pass(self, at - 1, stop);
            }
            let twin = before == stop || after == stop;
            if best.is_some() && (twin || random.below(OVERLOOK) == 0) {
                continue;
            }
            let there = walks.ms(before, stop);
            let added = there + stay + walks.ms(stop, after) - walks.ms(before, after);
            let end =
                if at == 0 { self.length - walks.ms(before, after) } else { self.ends[at - 1] }
                    + there
                    + stay;
            let over = spans.over(self, added) + spans.own_over(self, added, end, gap);
            let cost = added + WEIGHT * over;
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, at));
            }
        }
        best
    }

    /// One pass over the looks.
    pub(super) fn measure(&mut self, demands: &Demands) {
        let n = self.looks.len();
        self.ends.clear();
        self.stops.clear();
        let mut at = 0;
        for i in 0..n {
            let stop = usize::from(self.looks[i]);
            at += demands.stay_ms[stop];
            self.ends.push(at);
            at += demands.walks.ms(stop, usize::from(self.looks[(i + 1) % n]));
        }
        self.length = at;
        self.until_next.clear();
        self.until_next.resize(n, 0);
        self.over = 0;
        // The first and the last look at each stop so far, as places.
        let mut known: Vec<(usize, usize)> = Vec::with_capacity(n);
        for i in 0..n {
            let stop = self.looks[i];
            match self.stops.iter().position(|s| s.0 == stop) {
                Some(k) => {
                    let last = std::mem::replace(&mut known[k].1, i);
                    self.until_next[last] = self.ends[i] - self.ends[last];
                    self.stops[k].1 += 1;
                }
                None => {
                    self.stops.push((stop, 1));
                    known.push((i, i));
                }
            }
        }
        for (first, last) in known {
            self.until_next[last] = self.ends[first] + self.length - self.ends[last];
        }
        for (&stop, &until) in self.looks.iter().zip(&self.until_next) {
            self.over += (until - demands.gap_ms[usize::from(stop)]).max(0);
        }
    }
}

/// For a place between two looks, the gap of each other stop that spans it.
struct Spans {
    /// Gap and number of the stops that come once; the whole round spans every place.
    once: Vec<(i64, i64)>,
    /// Stop, gap allowed and gap that spans the place, for those that come several times.
    often: Vec<(u16, i64, i64)>,
    /// The gap of the own stop that spans the place, and the end of the look it begins with.
    own: Option<(i64, i64)>,
}

impl Spans {
    fn new(round: &Round, own: usize, demands: &Demands) -> Spans {
        let mut spans = Spans { once: Vec::new(), often: Vec::new(), own: None };
        for &(stop, looks) in &round.stops {
            let gap = demands.gap_ms[usize::from(stop)];
            if usize::from(stop) == own {
                continue;
            }
            if looks > 1 {
                spans.often.push((stop, gap, 0));
            } else if let Some(known) = spans.once.iter_mut().find(|o| o.0 == gap) {
                known.1 += 1;
            } else {
                spans.once.push((gap, 1));
            }
        }
        // Before the first look each gap is that of the stop's last look.
        for (i, &stop) in round.looks.iter().enumerate() {
            if usize::from(stop) == own {
                spans.own = Some((round.until_next[i], round.ends[i] - round.length));
            } else if let Some(often) = spans.often.iter_mut().find(|o| o.0 == stop) {
                often.2 = round.until_next[i];
            }
        }
        spans
    }

    /// Goes past a look.
    fn pass(&mut self, round: &Round, look: usize, own: usize) {
        let stop = round.looks[look];
        if usize::from(stop) == own {
            self.own = Some((round.until_next[look], round.ends[look]));
        } else if let Some(often) = self.often.iter_mut().find(|o| o.0 == stop) {
            often.2 = round.until_next[look];
        }
    }

    /// What others are exceeded by more when the round grows here.
    fn over(&self, round: &Round, added: i64) -> i64 {
        let more = |now: i64, gap: i64| (now + added - gap).max(0) - (now - gap).max(0);
        let once: i64 = self.once.iter().map(|&(gap, n)| n * more(round.length, gap)).sum();
        once + self.often.iter().map(|&(_, gap, now)| more(now, gap)).sum::<i64>()
    }

    /// What the own stop is exceeded by more when a look at it ends here.
    fn own_over(&self, round: &Round, added: i64, end: i64, gap: i64) -> i64 {
        let Some((span, from)) = self.own else {
            return (round.length + added - gap).max(0);
        };
        // Before the first look of the round, `from` lies in the round before and `end` beyond the round's end.
        let first = (end - from).rem_euclid(round.length.max(1));
        (first - gap).max(0) + (span + added - first - gap).max(0) - (span - gap).max(0)
    }
}
