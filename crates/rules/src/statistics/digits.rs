//! Last digits of minutes. People who invent numbers prefer some digits (Beber and Scacco 2012); people who round prefer 0 and 5,
//! which is lazy and not false.

use super::distributions::{binomial_tail, chi_square_tail};

/// Last digits against a uniform spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DigitTest {
    /// How many times were counted.
    pub n: u32,
    /// X² = Σ (O − n/10)² / (n/10), nine degrees of freedom.
    pub statistic: f64,
    /// Chance of one at least so large among honest times.
    pub p: f64,
}

/// The share of 0 and 5 against one in five.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareTest {
    /// How many times were counted.
    pub n: u32,
    /// How many ended in 0 or 5.
    pub count: u32,
    /// Chance of at least so many among honest times.
    pub p: f64,
}

/// Fewest times for [`last_digits`]: five expected in each cell.
pub const FEWEST_FOR_LAST_DIGITS: u32 = 50;

/// Tests the last digits of minutes; `None` below [`FEWEST_FOR_LAST_DIGITS`] times.
pub fn last_digits(minutes: &[i64]) -> Option<DigitTest> {
    let n = u32::try_from(minutes.len()).ok().filter(|n| *n >= FEWEST_FOR_LAST_DIGITS)?;
    let mut counts = [0_u32; 10];
    for minute in minutes {
        counts[minute.rem_euclid(10) as usize] += 1;
    }
    let expected = f64::from(n) / 10.0;
    let statistic =
        counts.iter().map(|count| square(f64::from(*count) - expected) / expected).sum();
    Some(DigitTest { n, statistic, p: chi_square_tail(statistic, 9) })
}

/// Tests the share of minutes that end in 0 or 5; `None` without times.
pub fn zero_or_five(minutes: &[i64]) -> Option<ShareTest> {
    let n = u32::try_from(minutes.len()).ok().filter(|n| *n > 0)?;
    let count = minutes.iter().filter(|minute| minute.rem_euclid(5) == 0).count() as u32;
    Some(ShareTest { n, count, p: binomial_tail(count, n, 0.2) })
}

fn square(x: f64) -> f64 {
    x * x
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minutes(n: i64, fives: i64) -> Vec<i64> {
        (0..n).map(|i| if i < fives { 5 } else { 1 }).collect()
    }

    /// Least counts at 1 % and 0.1 % for a share of 0.2; computed from the binomial sum with rational arithmetic.
    #[test]
    fn least_counts_of_zeros_and_fives() {
        let table = [(24, 11, 12), (48, 17, 20), (50, 18, 20), (96, 30, 33)];
        for (n, at_1_percent, at_1_per_mille) in table {
            let p = |count| zero_or_five(&minutes(n, count)).expect("times").p;
            assert!(p(at_1_percent) <= 0.01 && p(at_1_percent - 1) > 0.01, "{n}");
            assert!(p(at_1_per_mille) <= 0.001 && p(at_1_per_mille - 1) > 0.001, "{n}");
        }
    }

    /// By hand: fifty times, each digit five times but 0 ten times and 9 never: X² = 2 · 25 / 5 = 10.
    #[test]
    fn statistic_by_hand() {
        let mut times: Vec<i64> = (0..50).map(|i| i % 10).collect();
        for time in times.iter_mut().filter(|time| **time == 9) {
            *time = 60;
        }
        let test = last_digits(&times).expect("fifty times");
        assert_eq!(test.statistic, 10.0);
        assert!(test.p > 0.05);
    }

    #[test]
    fn too_few_times_are_not_tested() {
        assert_eq!(last_digits(&minutes(49, 49)), None);
        assert_eq!(zero_or_five(&[]), None);
    }
}
