//! One closed round: the shortest tour through all stops, and a lower bound on any tour.

mod bound;
mod deepen;
mod exact;
mod least;
mod order;

use crate::effort::Effort;
use crate::random::Random;
use crate::walks::{NEVER, Walks};
use deepen::Deepening;
use order::Order;

pub use bound::tour_bound;

/// A closed tour.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tour {
    /// The stops in walking order, the first one being stop 0.
    pub order: Vec<usize>,
    /// Walking time all the way round, back to the first stop, in the unit of the table.
    pub length: i64,
}

/// Candidate neighbours of a node.
const NEAR: usize = 10;
/// Longest of the three pieces that a kick exchanges.
const KICK: usize = 50;
/// How much longer than before, in mean legs, a repaired tour may be and still be walked on from.
const WARMTH: f64 = 0.1;
/// Kicks per node without a new best tour before the search goes back to the best.
const PATIENCE: u64 = 300;

/// The shortest closed tour that the effort allows. Up to ten stops it is exact.
///
/// Ways that differ from their way back are allowed; a way of [`NEVER`] is used only when there
/// is no tour without it.
pub fn tour(walks: &Walks, effort: &mut Effort<'_>) -> Tour {
    let n = walks.len();
    let order = if n <= exact::EXACT {
        exact::shortest(walks)
    } else if walks.is_symmetric() {
        chained(walks, least::there_and_back(walks), effort)
    } else {
        directed(walks, effort)
    };
    from_first(walks, order)
}

/// Walking time of a closed order of stops.
pub fn length(walks: &Walks, order: &[usize]) -> i64 {
    (0..order.len()).map(|i| walks.ms(order[i], order[(i + 1) % order.len()])).sum()
}

fn from_first(walks: &Walks, nodes: Vec<u32>) -> Tour {
    let mut order: Vec<usize> = nodes.into_iter().map(|a| a as usize).collect();
    if let Some(start) = order.iter().position(|&a| a == 0) {
        order.rotate_left(start);
    }
    let length = length(walks, &order);
    Tour { order, length }
}

/// Deepening from a nearest-neighbour tour, then kicks that exchange two neighbouring pieces, each
/// kept when the repaired tour is no longer than before (Applegate, Cook and Rohe 2003). A tour of the length `least`,
/// below which there is none, ends the search.
fn chained(walks: &Walks, least: i64, effort: &mut Effort<'_>) -> Vec<u32> {
    let n = walks.len();
    let near = walks.near(NEAR);
    let mut random = Random::new(effort.seed());
    let mut search = Deepening::new(walks, &near, Order::new(nearest_first(walks)));
    for a in (0..n as u32).rev() {
        search.wake(a);
    }
    search.run();
    search.settle();
    let mut now = closed_length(walks, search.order.nodes());
    let mut best = (now, search.order.nodes().to_vec());
    let warmth = WARMTH * now as f64 / n as f64;
    let (mut since_best, patience) = (0u64, PATIENCE * n as u64);
    while best.0 > least && effort.step(best.0) {
        let added = kick(walks, &mut search, &mut random);
        let after = now + added - search.run();
        debug_assert_eq!(after, closed_length(walks, search.order.nodes()));
        since_best += 1;
        let slack =
            -libm::log(1.0 - random.unit()) * warmth * (1.0 - since_best as f64 / patience as f64);
        if after as f64 <= now as f64 + slack {
            now = after;
            search.settle();
        } else {
            search.undo();
        }
        if now < best.0 {
            best = (now, search.order.nodes().to_vec());
            since_best = 0;
        } else if since_best >= patience {
            search.order = Order::new(best.1.clone());
            now = best.0;
            since_best = 0;
        }
    }
    best.1
}

/// Exchanges two neighbouring pieces of the tour (a double bridge of short pieces); what it costs.
fn kick(walks: &Walks, search: &mut Deepening<'_>, random: &mut Random) -> i64 {
    let n = walks.len();
    let longest = KICK.min((n - 2) / 2).max(1);
    let start = random.below(n) as u32;
    let (first, second) = (1 + random.below(longest), 1 + random.below(longest));
    let walk_on = |from: u32, steps: usize| (0..steps).fold(from, |x, _| search.order.next(x));
    let b1 = search.order.next(start);
    let b2 = walk_on(b1, first - 1);
    let c1 = search.order.next(b2);
    let c2 = walk_on(c1, second - 1);
    let end = search.order.next(c2);
    let d = |a: u32, b: u32| walks.ms(a as usize, b as usize);
    let added = d(start, c1) + d(c2, b1) + d(b2, end) - d(start, b1) - d(b2, c1) - d(c2, end);
    search.reverse(b1, c2);
    search.reverse(c2, c1);
    search.reverse(b2, b1);
    for a in [start, b1, b2, c1, c2, end] {
        search.wake(a);
    }
    added
}

fn nearest_first(walks: &Walks) -> Vec<u32> {
    let n = walks.len();
    let mut left = vec![true; n];
    let mut order = vec![0u32];
    left[0] = false;
    while order.len() < n {
        let row = walks.row(order[order.len() - 1] as usize);
        let next =
            (0..n).filter(|&b| left[b]).min_by_key(|&b| (row[b], b)).expect("a node is left");
        left[next] = false;
        order.push(next as u32);
    }
    order
}

fn closed_length(walks: &Walks, nodes: &[u32]) -> i64 {
    let n = nodes.len();
    (0..n).map(|i| walks.ms(nodes[i] as usize, nodes[(i + 1) % n] as usize)).sum()
}

/// Ways that differ from their way back: every stop becomes an arrival and a departure that must
/// be neighbours (Jonker and Volgenant, Operations Research Letters 2 (1983)).
fn directed(walks: &Walks, effort: &mut Effort<'_>) -> Vec<u32> {
    let n = walks.len();
    let longest = (0..n * n)
        .map(|e| walks.ms(e / n, e % n))
        .filter(|&t| t < i64::from(NEVER))
        .max()
        .unwrap_or(0);
    let never = 2 * longest + 1;
    let tie = 4 * (longest + 1);
    let both = Walks::from_fn(2 * n, |a, b| {
        let (arrive, depart) = if a < n { (a, b) } else { (b, a) };
        match (arrive < n, depart >= n) {
            (true, true) if depart - n == arrive => 0,
            (true, true) => walks.ms(depart - n, arrive).min(never) + tie,
            _ => 4 * tie,
        }
    });
    // Each walk of a tour carries one tie.
    let single = Walks::from_fn(n, |a, b| both.ms(b, n + a) - tie);
    let least = least::there_and_back(&single) + n as i64 * tie;
    let doubled = chained(&both, least, effort);
    // A tour that is held together by its ties alternates; read it so that arrivals come first.
    let at = doubled.iter().position(|&a| a == 0).expect("every node is in the tour");
    let forwards = doubled[(at + 1) % (2 * n)] as usize == n;
    let single: Vec<u32> = if forwards {
        (0..n).map(|i| doubled[(at + 2 * i) % (2 * n)]).collect()
    } else {
        (0..n).map(|i| doubled[(at + 2 * n - 2 * i) % (2 * n)]).collect()
    };
    if single.iter().all(|&a| (a as usize) < n) { single } else { nearest_first(walks) }
}

#[cfg(test)]
pub(crate) mod tests;
