//! Limits of what a person can do, from `standards/site`, each with its source there. They select what
//! to look at; nobody is judged by them.

use floorplan::Limits;
use std::sync::LazyLock;

macro_rules! files {
    ($($name:literal),*) => {
        [$(($name, include_str!(concat!("../../standards/site/", $name, ".toml"))),)*]
    };
}

static LIMITS: LazyLock<Limits> = LazyLock::new(|| {
    let files =
        files!["walking/running", "walking/crossing", "records/batch-stops", "records/batch-span"];
    Limits::read(files).expect("files that a test reads are read here")
});

/// Whether a leg planned to take `walk_s` cannot have been walked in `took_ms`.
pub(super) fn faster_than_anybody(walk_s: i64, took_ms: i64) -> bool {
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

fn usual(id: &str) -> i64 {
    LIMITS.usual(id).expect("a test asks for every one")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_is_there_and_has_a_source() {
        for limit in LIMITS.0.values() {
            for value in &limit.value {
                assert!(!value.source.is_empty() && !value.known.is_empty(), "{}", limit.id);
            }
        }
        assert_eq!((batch_stops(), batch_span_s()), (5, 30));
        // 3.5 ft/s planned for 60 s is 64 m; at 3.5 m/s that is run in 18.3 s.
        assert!(faster_than_anybody(60, 18_200));
        assert!(!faster_than_anybody(60, 18_400));
    }
}
