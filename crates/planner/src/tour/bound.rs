//! A lower bound on every closed tour: the best 1-tree under node prices (Held and Karp 1970, 1971).
//!
//! A closed tour is a spanning tree of all nodes but one, plus two edges at that one, with two
//! edges at every node. Pricing each node shifts every tour by the same amount and every cheaper
//! structure by another, so the dearest cheapest 1-tree bounds all tours from below. The ascent
//! runs in floating point; the bound handed back is then recomputed in whole numbers from rounded
//! prices, so rounding can only weaken it, never make it wrong.

use crate::walks::Walks;

/// Prices are kept in this part of the unit of the table.
const PARTS: i64 = 1024;

/// A number that no closed tour through all stops can be shorter than, in the unit of the table.
///
/// `tour_length` is any known tour: it sets the length of the steps. `rounds` bounds the work,
/// each round costing the square of the number of stops.
pub fn tour_bound(walks: &Walks, tour_length: i64, rounds: u32) -> i64 {
    let n = walks.len();
    match n {
        0 | 1 => return 0,
        2 => return walks.ms(0, 1) + walks.ms(1, 0),
        _ => {}
    }
    let low = if walks.is_symmetric() { walks.clone() } else { walks.lower_symmetric() };
    let mut price = vec![0.0f64; n];
    let mut best = (one_tree(&low, &price).0, price.clone());
    let mut previous = vec![0.0f64; n];
    let (mut scale, mut stalled) = (2.0, 0u32);
    let patience = (n as u32 / 4).clamp(10, 40);
    for _ in 0..rounds {
        let (value, degree) = one_tree(&low, &price);
        if value > best.0 {
            best = (value, price.clone());
            stalled = 0;
        } else {
            stalled += 1;
            if stalled == patience {
                scale *= 0.6;
                stalled = 0;
                price.clone_from(&best.1);
            }
        }
        let norm: f64 = degree.iter().map(|&d| f64::from(d - 2).powi(2)).sum();
        if norm == 0.0 || scale < 1e-4 {
            break;
        }
        let step = scale * (tour_length as f64 * 1.0005 - value).max(0.0) / norm;
        for i in 0..n {
            let slope = f64::from(degree[i] - 2);
            price[i] += step * (0.7 * slope + 0.3 * previous[i]);
            previous[i] = slope;
        }
    }
    exact_value(&low, &best.1)
}

/// The cheapest 1-tree at node 0 under the prices, less twice the prices; and the degrees.
fn one_tree(walks: &Walks, price: &[f64]) -> (f64, Vec<i32>) {
    let n = walks.len();
    let mut degree = vec![0i32; n];
    let cost = |a: usize, b: usize| walks.ms(a, b) as f64 + price[a] + price[b];
    let mut total = -2.0 * price.iter().sum::<f64>();
    let mut reach: Vec<(f64, usize)> = (0..n).map(|b| (cost(1, b), 1)).collect();
    let mut inside = vec![false; n];
    inside[0] = true;
    inside[1] = true;
    for _ in 2..n {
        let next = cheapest(&reach, &inside);
        let (c, from) = reach[next];
        total += c;
        degree[next] += 1;
        degree[from] += 1;
        inside[next] = true;
        for b in 0..n {
            if !inside[b] {
                let c = cost(next, b);
                if c < reach[b].0 {
                    reach[b] = (c, next);
                }
            }
        }
    }
    let (mut first, mut second) = ((f64::INFINITY, 0), (f64::INFINITY, 0));
    for b in 1..n {
        let c = cost(0, b);
        if c < first.0 {
            second = first;
            first = (c, b);
        } else if c < second.0 {
            second = (c, b);
        }
    }
    degree[0] = 2;
    degree[first.1] += 1;
    degree[second.1] += 1;
    (total + first.0 + second.0, degree)
}

fn cheapest(reach: &[(f64, usize)], inside: &[bool]) -> usize {
    let mut best = usize::MAX;
    for b in 0..reach.len() {
        if !inside[b] && (best == usize::MAX || reach[b].0 < reach[best].0) {
            best = b;
        }
    }
    best
}

/// The same value in whole numbers, rounded up: every tour is a whole number of units.
fn exact_value(walks: &Walks, price: &[f64]) -> i64 {
    let n = walks.len();
    let price: Vec<i64> = price.iter().map(|&p| libm::round(p * PARTS as f64) as i64).collect();
    let cost = |a: usize, b: usize| walks.ms(a, b) * PARTS + price[a] + price[b];
    let mut total = -2 * price.iter().sum::<i64>();
    let mut reach: Vec<i64> = (0..n).map(|b| cost(1, b)).collect();
    let mut inside = vec![false; n];
    inside[0] = true;
    inside[1] = true;
    for _ in 2..n {
        let next =
            (0..n).filter(|&b| !inside[b]).min_by_key(|&b| reach[b]).expect("a node is outside");
        total += reach[next];
        inside[next] = true;
        for (b, r) in reach.iter_mut().enumerate() {
            *r = (*r).min(cost(next, b));
        }
    }
    let mut at_first: Vec<i64> = (1..n).map(|b| cost(0, b)).collect();
    at_first.sort_unstable();
    total += at_first[0] + at_first[1];
    (total + PARTS - 1).div_euclid(PARTS)
}
