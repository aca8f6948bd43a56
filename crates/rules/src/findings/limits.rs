//! Limits of what a person can do, each with its source. They select what to look at; nobody is
//! judged by them.

/// Sustained faster than this nobody walks, mm/s (suggested limit; the top walking speed cited for
/// crossings is 8 ft/s = 2.4 m/s, and above 3.5 m/s one runs).
const RUNNING_MM_S: i64 = 3_500;
/// The design walking speed behind a planned leg, mm/s: 3.5 ft/s (MUTCD 2009 section 4E.06).
const PLANNED_MM_S: i64 = 1_067;

/// Whether a leg planned to take `walk_s` cannot have been walked in `took_ms`.
pub(super) fn faster_than_anybody(walk_s: i64, took_ms: i64) -> bool {
    took_ms * RUNNING_MM_S < walk_s * 1000 * PLANNED_MM_S
}
