//! The shortest closed tour of a handful of nodes (Held and Karp's table), ways back included.

use crate::walks::Walks;

/// Largest number of nodes for the table.
pub(crate) const EXACT: usize = 10;

pub(crate) fn shortest(walks: &Walks) -> Vec<u32> {
    let n = walks.len();
    assert!(n <= EXACT, "the table would be too large");
    if n <= 2 {
        return (0..n as u32).collect();
    }
    let rest = n - 1;
    let full = (1usize << rest) - 1;
    // best[set][last]: shortest path 0 .. last through exactly the set, and the node before last.
    let mut best = vec![(i64::MAX, 0u8); (full + 1) * rest];
    for last in 0..rest {
        best[(1 << last) * rest + last] = (walks.ms(0, last + 1), 0);
    }
    for set in 1..=full {
        for last in (0..rest).filter(|l| set >> l & 1 == 1) {
            let (so_far, _) = best[set * rest + last];
            if so_far == i64::MAX {
                continue;
            }
            for to in (0..rest).filter(|t| set >> t & 1 == 0) {
                let slot = &mut best[(set | 1 << to) * rest + to];
                let length = so_far + walks.ms(last + 1, to + 1);
                if length < slot.0 {
                    *slot = (length, last as u8);
                }
            }
        }
    }
    let mut last = (0..rest)
        .min_by_key(|&l| (best[full * rest + l].0 + walks.ms(l + 1, 0), l))
        .expect("at least two nodes beside the first");
    let (mut set, mut order) = (full, vec![0u32]);
    let mut tail = Vec::with_capacity(rest);
    while set != 0 {
        tail.push(last as u32 + 1);
        let before = best[set * rest + last].1 as usize;
        set &= !(1 << last);
        last = before;
    }
    order.extend(tail.iter().rev());
    order
}
