use super::*;
use crate::effort::Go;
use crate::random::Random;
use crate::tour::tests::{BERLIN52, EIL51};

/// Unrounded lengths, in thousandths.
fn thousandths(points: &[(i32, i32)]) -> Walks {
    Walks::from_fn(points.len(), |a, b| {
        let (dx, dy) = (f64::from(points[a].0 - points[b].0), f64::from(points[a].1 - points[b].1));
        ((dx * dx + dy * dy).sqrt() * 1000.0 + 0.5).floor() as i64
    })
}

fn among(walks: &Walks, stay: &[i64], guards: usize, steps: u64) -> (Shared, ShareBound) {
    let sharing =
        Sharing { walks, stay, post: Some(0), guards, good_enough: 0, caps: None, may: None };
    let shared = share(&sharing, &mut Effort::new(1, steps, &mut |_| Go::On));
    let mut seen: Vec<usize> = shared.rounds.iter().flat_map(|r| r[1..].iter().copied()).collect();
    seen.sort_unstable();
    assert_eq!(seen, (1..walks.len()).collect::<Vec<_>>(), "every stop once");
    assert_eq!(shared.rounds.len(), guards);
    let bound = share_bound(&sharing, 300);
    assert!(bound.best() <= shared.longest);
    (shared, bound)
}

#[test]
fn published_values_are_reached_and_the_star_proves_some_of_them() {
    // mTSPLib, unrounded, depot = city 1: eil51 with 3, 5 and 7 (He, Hao and Xia, Computers and
    // Operations Research 185 (2026): 159.57, 118.13, 112.07 optimal), berlin52 with 5 (2440.92,
    // optimal; Kim, Park and Park, ICLR 2023, print 2441).
    for (points, guards, published, proved) in [
        (&EIL51[..], 3, 159_570, false),
        (&EIL51[..], 5, 118_130, false),
        (&EIL51[..], 7, 112_070, true),
        (&BERLIN52[..], 5, 2_440_920, true),
    ] {
        let walks = thousandths(points);
        let (shared, bound) = among(&walks, &vec![0; points.len()], guards, 30_000);
        assert!(
            shared.longest * 1000 <= published * 1010,
            "{guards}: {} of {published}",
            shared.longest
        );
        assert!(
            shared.longest + 20 >= published,
            "shorter than the best known: {}",
            shared.longest
        );
        if proved {
            // The rounding of each leg to a thousandth is all that may stand between the two.
            assert!(bound.star + 50 >= published);
        }
    }
}

#[test]
fn brute_force_agrees_on_small_sites() {
    let mut random = Random::new(11);
    for guards in 1..=3 {
        for _ in 0..8 {
            let walks = Walks::from_fn(6, |_, _| random.below(90) as i64 + 10).closed();
            let stay: Vec<i64> = (0..6).map(|_| random.below(20) as i64).collect();
            let (shared, _) = among(&walks, &stay, guards, 12_000);
            assert_eq!(shared.longest, brute(&walks, &stay, guards));
        }
    }
}

#[test]
fn equal_steps_give_equal_rounds() {
    let walks = thousandths(&EIL51);
    let stay = vec![0; 51];
    assert_eq!(among(&walks, &stay, 3, 2000).0, among(&walks, &stay, 3, 2000).0);
}

#[test]
fn more_guards_than_stops_leaves_rounds_empty() {
    let walks = Walks::from_fn(3, |_, _| 10);
    let (shared, _) = among(&walks, &[0, 5, 5], 4, 100);
    assert_eq!(shared.longest, 25);
}

/// All ways to hand out stops 1.. to the guards, each toured by trying every order.
fn brute(walks: &Walks, stay: &[i64], guards: usize) -> i64 {
    let n = walks.len();
    let mut best = i64::MAX;
    for code in 0..guards.pow(n as u32 - 1) {
        let mut rounds = vec![vec![0usize]; guards];
        let mut rest = code;
        for stop in 1..n {
            rounds[rest % guards].push(stop);
            rest /= guards;
        }
        let longest = rounds.iter().map(|r| best_order(walks, stay, r, 1)).max().unwrap();
        best = best.min(longest);
    }
    best
}

fn best_order(walks: &Walks, stay: &[i64], round: &[usize], fixed: usize) -> i64 {
    if fixed + 1 >= round.len() {
        return round_length(walks, stay, round);
    }
    (fixed..round.len())
        .map(|i| {
            let mut next = round.to_vec();
            next.swap(fixed, i);
            best_order(walks, stay, &next, fixed + 1)
        })
        .min()
        .unwrap()
}
