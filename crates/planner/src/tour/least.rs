//! A length below which no closed tour can be, found at once: whoever visits two stops walks from one to the other and
//! back again. Where stops lie along one line, as floors do above each other, a tour is exactly that long, and whoever
//! knows it need not search on.

use crate::walks::Walks;

/// The way there and back between two stops that are far apart, passing others where that is shorter. The two are found
/// by going from the first stop to the farthest and from there to the farthest again (the double sweep that finds the
/// ends of a tree), so of all pairs it need not be the farthest; it bounds every tour all the same.
pub(super) fn there_and_back(walks: &Walks) -> i64 {
    if walks.is_empty() {
        return 0;
    }
    let (end, first) = farthest(walks, 0);
    let (_, second) = farthest(walks, end);
    first.max(second)
}

/// The stop to which the way there and back takes longest, the first of equal ones, and that time.
fn farthest(walks: &Walks, from: usize) -> (usize, i64) {
    let n = walks.len();
    let there = ways(n, from, |a, b| walks.ms(a, b));
    let back = ways(n, from, |a, b| walks.ms(b, a));
    let both = there.iter().zip(&back).map(|(there, back)| there + back).enumerate();
    both.max_by_key(|&(stop, ms)| (ms, std::cmp::Reverse(stop))).unwrap_or((from, 0))
}

/// The shortest ways from a stop to all (E. W. Dijkstra, 1959, without a queue: the table is full).
fn ways(n: usize, from: usize, ms: impl Fn(usize, usize) -> i64) -> Vec<i64> {
    let mut way: Vec<i64> = (0..n).map(|to| ms(from, to)).collect();
    let mut done = vec![false; n];
    way[from] = 0;
    for _ in 0..n {
        let open = (0..n).filter(|&stop| !done[stop]);
        let Some(next) = open.min_by_key(|&stop| (way[stop], stop)) else { break };
        done[next] = true;
        for to in 0..n {
            way[to] = way[to].min(way[next] + ms(next, to));
        }
    }
    way
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::effort::{Effort, Go};
    use crate::random::Random;
    use crate::tour::{directed, length, tour};

    fn along_a_line(places: &[i64]) -> Walks {
        Walks::from_fn(places.len(), |a, b| (places[a] - places[b]).abs())
    }

    #[test]
    fn floors_above_each_other_need_no_search() {
        // Twice from the lowest to the highest, in whatever order they are listed.
        let mut random = Random::new(4);
        let places: Vec<i64> = (0..50).map(|_| random.below(90_000) as i64).collect();
        for places in [places, (0..50).map(|floor| floor * 45_000).collect()] {
            let walks = along_a_line(&places);
            let mut go_on = |_| Go::On;
            let mut effort = Effort::new(1, 20_000, &mut go_on);
            let found = tour(&walks, &mut effort);
            let (low, high) = (places.iter().min().unwrap(), places.iter().max().unwrap());
            assert_eq!(found.length, 2 * (high - low));
            assert_eq!(there_and_back(&walks), found.length);
            assert!(effort.left() > 0, "it went on searching");
        }
    }

    #[test]
    fn ways_that_differ_from_their_way_back_are_known_to_be_shortest_too() {
        // Up takes three times as long as down.
        let up = |a: usize, b: usize| if b > a { 3 * (b - a) as i64 } else { (a - b) as i64 };
        let walks = Walks::from_fn(40, up);
        let found = directed(&walks, &mut Effort::new(1, 20_000, &mut |_| Go::On));
        let order: Vec<usize> = found.into_iter().map(|stop| stop as usize).collect();
        assert_eq!((length(&walks, &order), there_and_back(&walks)), (4 * 39, 4 * 39));
    }

    #[test]
    fn no_tour_is_shorter_whatever_the_table() {
        let mut random = Random::new(8);
        for n in 1..=7 {
            for _ in 0..30 {
                // No triangle inequality, ways back that differ, ways that are none.
                let walks = Walks::from_fn(n, |_, _| match random.below(12) {
                    0 => i64::from(crate::walks::NEVER),
                    _ => random.below(1000) as i64,
                });
                let shortest = tour(&walks, &mut Effort::new(1, 10, &mut |_| Go::On));
                assert!(there_and_back(&walks) <= shortest.length, "{walks:?}");
            }
        }
    }
}
