//! Moments that nobody chose: each run draws others, and says from which seed.

use std::time::Duration;

/// A drawer of moments.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Chance {
        Chance(seed)
    }

    /// A moment between two lengths of time.
    pub(crate) fn between(&mut self, least: Duration, most: Duration) -> Duration {
        // One step of a linear congruential generator (Knuth, MMIX): from memory.
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let span_ms = (most - least).as_millis().max(1) as u64;
        least + Duration::from_millis((self.0 >> 33) % span_ms)
    }
}
