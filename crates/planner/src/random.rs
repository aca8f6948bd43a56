//! A small seeded generator, so that equal seeds give equal plans on every machine.

/// xoshiro256++ (Blackman and Vigna, 2019), seeded through splitmix64.
#[derive(Clone, Debug)]
pub(crate) struct Random {
    state: [u64; 4],
}

impl Random {
    pub(crate) fn new(seed: u64) -> Random {
        let mut x = seed;
        let mut next = || {
            x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = x;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            z ^ (z >> 31)
        };
        Random { state: [next(), next(), next(), next()] }
    }

    pub(crate) fn next_u64(&mut self) -> u64 {
        let s = &mut self.state;
        let out = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        out
    }

    /// A number below `n`, for `n` from 1 to 2^32. The bias of the multiplication is below 2^-32.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        debug_assert!(n > 0 && n as u64 <= 1 << 32);
        (((self.next_u64() >> 32) * n as u64) >> 32) as usize
    }

    /// A number in [0, 1) with 53 bits.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn shuffle<T>(&mut self, items: &mut [T]) {
        for i in (1..items.len()).rev() {
            items.swap(i, self.below(i + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_words_of_the_published_generator() {
        // splitmix64 from 0 gives these four words (reference code of Vigna, from memory).
        let mut r = Random::new(0);
        assert_eq!(r.state[0], 0xe220_a839_7b1d_cdaf);
        assert_eq!(r.state[1], 0x6e78_9e6a_a1b9_65f4);
        assert_eq!(r.next_u64(), {
            let s = Random::new(0).state;
            s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0])
        });
    }

    #[test]
    fn below_reaches_every_number_and_no_other() {
        let mut r = Random::new(7);
        let mut seen = [0u32; 6];
        for _ in 0..6000 {
            seen[r.below(6)] += 1;
        }
        assert!(seen.iter().all(|&c| c > 800), "{seen:?}");
    }
}
