//! Stops of which no guard can look at two within one window.

use super::Demands;
use crate::walks::Walks;

/// A set of stops that exclude each other in the window, found greedily from every stop.
pub(super) fn clique(low: &Walks, demands: &Demands, window: i64) -> Vec<usize> {
    let stops: Vec<usize> = (0..low.len()).filter(|&i| demands.gap_ms[i] <= window).collect();
    let excludes =
        |i: usize, j: usize| low.ms(i, j) + demands.stay_ms[i].min(demands.stay_ms[j]) > window;
    let degree: Vec<usize> = stops
        .iter()
        .map(|&i| stops.iter().filter(|&&j| j != i && excludes(i, j)).count())
        .collect();
    let mut order: Vec<usize> = (0..stops.len()).collect();
    order.sort_by_key(|&a| (std::cmp::Reverse(degree[a]), a));
    let mut best: Vec<usize> = Vec::new();
    for &first in &order {
        if degree[first] < best.len() {
            break;
        }
        let mut found = vec![stops[first]];
        for &a in &order {
            if a != first && found.iter().all(|&f| excludes(f, stops[a])) {
                found.push(stops[a]);
            }
        }
        if found.len() > best.len() {
            best = found;
        }
    }
    best.sort_unstable();
    best
}
