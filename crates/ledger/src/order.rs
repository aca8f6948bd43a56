//! Order for the price of little code: a stable sort that is one piece of code for all types (the library's own is
//! faster and brings some 4 kB for each type that is sorted with it, which a phone fetches before it can open), and
//! a map and a set that are sorted lists.

mod map;

pub use map::{Map, Set};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Sorts as `slice::sort_by` does: stable, some n log n comparisons.
pub fn sort_by<T>(items: &mut [T], mut compare: impl FnMut(&T, &T) -> Ordering) {
    let mut places = merged(items.len(), &mut |a, b| compare(&items[a], &items[b]).is_gt());
    for at in 0..items.len() {
        // Follows what was moved away from there before.
        let mut from = places[at];
        while from < at {
            from = places[from];
        }
        items.swap(at, from);
        places[at] = from;
    }
}

/// Sorts as `slice::sort_by_key` does.
pub fn sort_by_key<T, K: Ord>(items: &mut [T], mut key: impl FnMut(&T) -> K) {
    sort_by(items, |a, b| key(a).cmp(&key(b)));
}

/// A map of pairs; of two with one key the later counts. `collect` would sort them first, with the code
/// that this module is there to avoid.
pub fn map_of<K: Ord, V>(pairs: impl IntoIterator<Item = (K, V)>) -> BTreeMap<K, V> {
    let mut map = BTreeMap::new();
    for (key, value) in pairs {
        map.insert(key, value);
    }
    map
}

/// The places 0 to n in sorted order: runs of one, merged two by two.
fn merged(n: usize, is_after: &mut dyn FnMut(usize, usize) -> bool) -> Vec<usize> {
    let mut places: Vec<usize> = (0..n).collect();
    let mut next: Vec<usize> = Vec::with_capacity(n);
    let mut run = 1;
    while run < n {
        next.clear();
        for start in (0..n).step_by(2 * run) {
            let (middle, end) = ((start + run).min(n), (start + 2 * run).min(n));
            let (mut a, mut b) = (start, middle);
            while a < middle || b < end {
                let take_b = a == middle || b < end && is_after(places[a], places[b]);
                let from = if take_b { &mut b } else { &mut a };
                next.push(places[*from]);
                *from += 1;
            }
        }
        std::mem::swap(&mut places, &mut next);
        run *= 2;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::{sort_by, sort_by_key};
    use proptest::prelude::*;

    proptest! {
        /// Against the library's own; the second number shows that equal ones keep their order.
        #[test]
        fn as_the_library_sorts(keys in prop::collection::vec(0u8..6, 0..70)) {
            let items: Vec<(u8, usize)> = keys.into_iter().zip(0..).collect();
            let (mut ours, mut theirs) = (items.clone(), items.clone());
            sort_by_key(&mut ours, |item| item.0);
            theirs.sort_by_key(|item| item.0);
            prop_assert_eq!(&ours, &theirs);
            sort_by(&mut ours, |a, b| b.cmp(a));
            theirs.sort_by(|a, b| b.cmp(a));
            prop_assert_eq!(ours, theirs);
        }
    }
}
