//! Limits of what a person can do, from `standards/site`, each with its source there. They select what
//! to look at; nobody is judged by them.

use crate::standards::site_limits;

/// Whether a leg planned to take `walk_s` cannot have been walked in `took_ms`.
pub(crate) fn faster_than_anybody(walk_s: i64, took_ms: i64) -> bool {
    took_ms * usual("running") < walk_s * 1000 * usual("walking-crossing")
}

/// As many stops written in one go are looked at.
pub(super) fn batch_stops() -> i64 {
    usual("batch-stops")
}

/// What counts as one go, s.
pub(super) fn batch_span_s() -> i64 {
    usual("batch-span")
}

/// The chance of any false alarm among all tests of a watch's hand-written times, thousandths.
pub(super) fn hand_times_level_permille() -> i64 {
    usual("hand-times-level")
}

/// Fewest hand-written times whose share of 0 and 5 is tested.
pub(super) fn hand_times_fives() -> i64 {
    usual("hand-times-fives")
}

/// Fewest stretches on each side of the median whose order is tested.
pub(super) fn hand_times_side() -> i64 {
    usual("hand-times-side")
}

/// Fewest stretches between hand-written times whose evenness is looked at.
pub(super) fn hand_times_even_count() -> i64 {
    usual("hand-times-even-count")
}

/// Stretches that spread less than so many thousandths of their mean are looked at.
pub(super) fn hand_times_even_permille() -> i64 {
    usual("hand-times-even")
}

fn usual(id: &str) -> i64 {
    site_limits().usual(id).expect("a test asks for every one")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_is_there() {
        assert_eq!((batch_stops(), batch_span_s()), (5, 30));
        assert_eq!(
            (hand_times_level_permille(), hand_times_fives(), hand_times_side()),
            (10, 24, 11)
        );
        assert_eq!((hand_times_even_count(), hand_times_even_permille()), (12, 20));
        // 3.5 ft/s planned for 60 s is 64 m; at 3.5 m/s that is run in 18.3 s.
        assert!(faster_than_anybody(60, 18_200));
        assert!(!faster_than_anybody(60, 18_400));
    }
}
