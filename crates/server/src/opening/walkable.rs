//! Whether one round fits into the longest gap, before anybody is sent.
//!
//! A place known only by its floors has no measured walks; the times here are our own defaults and
//! are shown as such.

/// Looking around and confirming on one floor or place, s (our own default).
const LOOK_S: u32 = 90;
/// From one floor or place to the next, s (our own default).
const WALK_S: u32 = 45;
/// The share of a gap that a plan may use; the rest is for writing, doors and delay (our own default).
const SHARE_PERCENT: u32 = 85;

/// What a round takes, and what it may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Walk {
    pub(super) round_s: u32,
    pub(super) allowed_s: u32,
    pub(super) guards: u32,
}

impl Walk {
    /// Estimates a closed round over so many places.
    pub(super) fn of(places: usize, gap_s: u32) -> Walk {
        let places = places as u32;
        let round_s = places * (LOOK_S + WALK_S);
        let allowed_s = (u64::from(gap_s) * u64::from(SHARE_PERCENT) / 100) as u32;
        // Each guard walks a share of the places as a round of its own.
        let per_guard = (allowed_s / (LOOK_S + WALK_S)).max(1);
        Walk { round_s, allowed_s, guards: places.div_ceil(per_guard).max(1) }
    }

    /// Whether one guard can do it.
    pub(super) fn fits(&self) -> bool {
        self.guards <= 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tower_in_a_quarter_of_an_hour_needs_more_guards() {
        assert!(Walk::of(3, 1800).fits());
        // 15 min leave 765 s: five places of 135 s each.
        let tower = Walk::of(12, 900);
        assert_eq!((tower.round_s, tower.allowed_s, tower.guards), (1620, 765, 3));
        assert!(!tower.fits());
    }

    #[test]
    fn a_gap_shorter_than_one_place_still_counts_a_guard_each() {
        assert_eq!(Walk::of(4, 60).guards, 4);
    }
}
