//! A number of guards that no schedule can go below, whatever its class, stops shared or not.
//!
//! Let stop *i* take `s` to inspect and be owed a look every `g`; let `k` guards keep all gaps for
//! as long as one likes. Three proofs; the largest number wins.
//!
//! **Load.** Looks at *i* that follow each other without another stop between, by one guard, are one
//! *entry*, from first end to last end lasting `w`. Then the entries satisfy `sum (g + w) >= T` over
//! any time `T`, and each costs `s + w` of some guard's time and a walk in and a walk out, each at
//! least to the nearest other stop. Half of each walk charged to each of its ends, the share of
//! guard time that *i* takes is at least `(s + d + w) / (g + w)`, least at `w = 0` when
//! `s + d <= g`. Summed over the stops it is at most `k`.
//!
//! **Walk.** Take `G` and the stops with `g <= G`. In every window of length `G` each of them is
//! looked at, so the legs walked inside the window join them into at most `k` pieces: they contain a
//! forest of `n - k` edges. Over time each *i* has at least `1 / g` entries a second, each with two
//! leg ends. For prices `p >= 0` with `p_i + p_j <= d_ij` and `2 p_i + s_i <= g_i`, pay `p_i` for every leg
//! end at *i* out of the leg's own length; what is left of the lengths, `d_ij - p_i - p_j >= 0`, still
//! pays for the forests. So `k G >= sum (2 p_i + s_i) G / g_i + F`, `F` being the cheapest forest of
//! at most `k` trees under what is left. Any prices give a valid bound; an ascent looks for good ones.
//! **Two windows.** The same with what is left of each leg divided between the forests of the whole
//! window `G` and those of its `G / H` parts of length `H`, which must join the stops with `g <= H`,
//! by way of other stops if need be.
//!
//! **Clique.** Two stops that one guard cannot look at within one window each need a guard of
//! their own in that window.

use super::Demands;
use super::clique::clique;
use crate::walks::Walks;

/// Why fewer guards cannot keep it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Somebody must be there.
    Anybody,
    /// Inspecting and reaching the stops fills more time than fewer guards have.
    Load,
    /// Walking and inspecting what is owed within this window takes more time than fewer guards have.
    Walk {
        /// Length of the window, in milliseconds.
        window_ms: i64,
        /// Stops that are owed at least one look in it.
        stops: usize,
        /// Guard time that one window takes at the least, in milliseconds.
        needed_ms: i64,
    },
    /// No guard can look at two of these stops within their gap.
    Clique {
        /// Stops that exclude each other.
        stops: Vec<usize>,
    },
}

/// A proved least number of guards.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GuardBound {
    /// No schedule of any class keeps the gaps with fewer.
    pub guards: usize,
    /// The proof that gave the number.
    pub because: Reason,
}

/// Proves how many guards are needed at the least.
///
/// `demands.walks` must keep the triangle inequality.
pub fn guards_at_least(demands: &Demands) -> GuardBound {
    let n = demands.walks.len();
    if n == 0 {
        return GuardBound { guards: 0, because: Reason::Anybody };
    }
    let mut best = GuardBound { guards: 1, because: Reason::Anybody };
    let low = demands.walks.lower_symmetric().closed();
    let load = load(&low, demands);
    if load > best.guards {
        best = GuardBound { guards: load, because: Reason::Load };
    }
    for window in windows(demands) {
        let stops = clique(&low, demands, window);
        if stops.len() > best.guards {
            best = GuardBound { guards: stops.len(), because: Reason::Clique { stops } };
        }
        let case = Window::new(&low, demands, window);
        if let Some((guards, needed_ms)) = case.more_than(best.guards) {
            let because = Reason::Walk { window_ms: window, stops: case.stops.len(), needed_ms };
            best = GuardBound { guards, because };
        }
    }
    best
}

/// The different gaps, shortest first.
pub(super) fn windows(demands: &Demands) -> Vec<i64> {
    let mut windows = demands.gap_ms.clone();
    windows.sort_unstable();
    windows.dedup();
    windows
}

/// Shares are summed in millionths, each rounded down.
fn load(low: &Walks, demands: &Demands) -> usize {
    const WHOLE: i64 = 1_000_000;
    let n = low.len();
    let total: i64 = (0..n)
        .map(|i| {
            let nearest = (0..n).filter(|&j| j != i).map(|j| low.ms(i, j)).min().unwrap_or(0);
            let busy = (demands.stay_ms[i] + nearest).min(demands.gap_ms[i]);
            busy * WHOLE / demands.gap_ms[i].max(1)
        })
        .sum();
    ((total + WHOLE - 1) / WHOLE).max(1) as usize
}

const ASCENT: usize = 300;

struct Window<'a> {
    demands: &'a Demands,
    window: i64,
    stops: Vec<usize>,
    walks: Walks,
}

impl<'a> Window<'a> {
    fn new(low: &Walks, demands: &'a Demands, window: i64) -> Window<'a> {
        let stops: Vec<usize> = (0..low.len()).filter(|&i| demands.gap_ms[i] <= window).collect();
        let walks = low.only(&stops);
        Window { demands, window, stops, walks }
    }

    /// Whether more than `known` guards are needed: how many, and the guard time that one fewer would need.
    ///
    /// What `k` guards need falls as `k` grows, while what they have grows, so the number follows from the last `k` that
    /// is too few. It is sought from above: what `known` guards need, divided by the window, is hardly ever too much.
    fn more_than(&self, known: usize) -> Option<(usize, i64)> {
        let first = self.needed(known);
        if first <= known as i64 * self.window {
            return None;
        }
        let most = ((first + self.window - 1) / self.window) as usize;
        let too_few = (known + 1..most).rev().find_map(|k| {
            let needed_ms = self.needed(k);
            (needed_ms > k as i64 * self.window).then_some((k + 1, needed_ms))
        });
        Some(too_few.unwrap_or((known + 1, first)))
    }

    /// Guard time that a window takes at the least when `k` guards share it, in milliseconds.
    fn needed(&self, k: usize) -> i64 {
        let n = self.stops.len();
        let owed: Vec<f64> = self
            .stops
            .iter()
            .map(|&s| self.window as f64 / self.demands.gap_ms[s] as f64)
            .collect();
        let mut price = vec![0.0f64; n];
        let mut best = self.value(&price, k);
        let mean =
            (0..n).filter_map(|i| self.walks.near_of(i)).sum::<i64>() as f64 / n.max(1) as f64;
        let mut step = mean / 4.0;
        for round in 0..ASCENT {
            let degree = self.forest_degrees(&price, k);
            for i in 0..n {
                price[i] += step * (2.0 * owed[i] - f64::from(degree[i]));
            }
            self.make_allowed(&mut price);
            step *= 0.985;
            if round % 10 == 9 {
                best = best.max(self.value(&price, k));
            }
        }
        for part in [0.75, 0.5, 0.25] {
            let fewer: Vec<f64> = price.iter().map(|p| p * part).collect();
            best = best.max(self.value(&fewer, k));
        }
        best
    }

    /// Lowers prices until every pair and every stop allows them.
    fn make_allowed(&self, price: &mut [f64]) {
        let n = price.len();
        for (i, p) in price.iter_mut().enumerate() {
            let s = self.stops[i];
            *p = p
                .clamp(0.0, ((self.demands.gap_ms[s] - self.demands.stay_ms[s]).max(0) / 2) as f64);
        }
        for i in 0..n {
            for j in 0..i {
                let over = price[i] + price[j] - self.walks.ms(i, j) as f64;
                if over > 0.0 {
                    let from_i = (over / 2.0).max(over - price[j]).min(price[i]);
                    price[i] -= from_i;
                    price[j] = (price[j] - (over - from_i)).max(0.0);
                }
            }
        }
    }

    fn forest_degrees(&self, price: &[f64], k: usize) -> Vec<i32> {
        let edges =
            forest(self.stops.len(), k, |i, j| self.walks.ms(i, j) as f64 - price[i] - price[j]);
        let mut degree = vec![0; self.stops.len()];
        for (i, j, _) in edges {
            degree[i] += 1;
            degree[j] += 1;
        }
        degree
    }

    /// The bound for some prices, in whole milliseconds, every rounding downwards.
    fn value(&self, price: &[f64], k: usize) -> i64 {
        let n = self.stops.len();
        let mut whole: Vec<i64> = price.iter().map(|&p| p.max(0.0) as i64).collect();
        for i in 0..n {
            for j in 0..i {
                let over = whole[i] + whole[j] - self.walks.ms(i, j);
                if over > 0 {
                    let from_i = over.min(whole[i]);
                    whole[i] -= from_i;
                    whole[j] -= over - from_i;
                }
            }
        }
        let paid: i64 = (0..n)
            .map(|i| {
                let s = self.stops[i];
                (2 * whole[i] + self.demands.stay_ms[s]) * self.window / self.demands.gap_ms[s]
            })
            .sum();
        let left = |i: usize, j: usize| self.walks.ms(i, j) - whole[i] - whole[j];
        let one: i64 = forest(n, k, left).iter().map(|e| e.2).sum();
        let two = windows(self.demands)
            .into_iter()
            .filter(|&h| h < self.window)
            .map(|h| self.two_windows(h, k, &left))
            .max()
            .unwrap_or(0);
        paid + one.max(two)
    }

    /// Forests of the whole window and of its parts of length `h`, a leg between an often and a
    /// seldom stop being divided between the two.
    fn two_windows(&self, h: i64, k: usize, left: &dyn Fn(usize, usize) -> i64) -> i64 {
        let n = self.stops.len();
        let often: Vec<bool> = self.stops.iter().map(|&s| self.demands.gap_ms[s] <= h).collect();
        let inner: Vec<usize> = (0..n).filter(|&i| often[i]).collect();
        let seldom: Vec<usize> = (0..n).filter(|&i| !often[i]).collect();
        let times = self.window / h;
        (1..4)
            .map(|quarter| {
                let outer = |i: usize, j: usize| match (often[i], often[j]) {
                    (true, true) => 0,
                    (false, false) => left(i, j),
                    _ => left(i, j) * quarter / 4,
                };
                // Legs between seldom stops cost nothing here, so all of them are one stop: the shortest ways among
                // the often ones are the same, and found in a table of a few instead of all.
                let blob = inner.len();
                let cost = |i: usize, j: usize| left(i, j) - outer(i, j);
                let nearest = |of: &dyn Fn(usize) -> i64| seldom.iter().map(|&s| of(s)).min();
                let rest = Walks::from_fn(blob + usize::from(!seldom.is_empty()), |i, j| {
                    match (inner.get(i), inner.get(j)) {
                        (Some(&i), Some(&j)) => cost(i, j),
                        (Some(&i), None) => nearest(&|s| cost(i, s)).unwrap_or(0),
                        (None, Some(&j)) => nearest(&|s| cost(s, j)).unwrap_or(0),
                        (None, None) => 0,
                    }
                })
                .closed();
                let whole: i64 = forest(n, k, outer).iter().map(|e| e.2).sum();
                let parts: i64 =
                    forest(inner.len(), k, |i, j| rest.ms(i, j)).iter().map(|e| e.2).sum();
                whole + times * parts
            })
            .max()
            .unwrap_or(0)
    }
}

/// The cheapest forest of at most `k` trees: a cheapest spanning tree less its dearest `k - 1` edges.
fn forest<C>(n: usize, k: usize, cost: impl Fn(usize, usize) -> C) -> Vec<(usize, usize, C)>
where
    C: PartialOrd + Copy,
{
    if n < 2 {
        return Vec::new();
    }
    let mut edges = Vec::with_capacity(n - 1);
    let mut reach: Vec<(C, usize)> = (0..n).map(|j| (cost(0, j), 0)).collect();
    let mut inside = vec![false; n];
    inside[0] = true;
    for _ in 1..n {
        let mut next = usize::MAX;
        for j in 0..n {
            if !inside[j] && (next == usize::MAX || reach[j].0 < reach[next].0) {
                next = j;
            }
        }
        edges.push((reach[next].1, next, reach[next].0));
        inside[next] = true;
        for (j, r) in reach.iter_mut().enumerate() {
            if !inside[j] {
                let c = cost(next, j);
                if c < r.0 {
                    *r = (c, next);
                }
            }
        }
    }
    edges.sort_by(|a, b| {
        a.2.partial_cmp(&b.2).expect("costs are numbers").then((a.0, a.1).cmp(&(b.0, b.1)))
    });
    edges.truncate((n - 1).saturating_sub(k - 1));
    edges
}
