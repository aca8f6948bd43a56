//! Chance by seed: the same seed draws the same night.

/// A stream of draws.
#[derive(Debug, Clone)]
pub struct Chance {
    state: u64,
}

impl Chance {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Chance {
        Chance { state: seed }
    }

    /// The next 64 bits: SplitMix64 (Steele, Lea, Flood: Fast splittable pseudorandom number
    /// generators, OOPSLA 2014; constants from memory).
    pub fn draw(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from `from` up to, but not, `to`.
    pub fn between(&mut self, from: i64, to: i64) -> i64 {
        let span = to.saturating_sub(from).max(1) as u64;
        from + (self.draw() % span) as i64
    }

    /// True about once in `n` times.
    pub fn once_in(&mut self, n: u64) -> bool {
        self.draw().is_multiple_of(n.max(1))
    }
}
