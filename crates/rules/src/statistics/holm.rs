//! Many tests at once: Holm's step-down procedure (Holm 1979) keeps the chance of any false alarm at the level.

/// For each p, whether it passes at `level` among all of them, in the order in which they were given. A p that is not a number
/// never passes and still counts as a test.
pub fn holm(p: &[f64], level: f64) -> Vec<bool> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*a].total_cmp(&p[*b]));
    let mut passes = vec![false; p.len()];
    for (step, at) in order.iter().enumerate() {
        let tests_left = (p.len() - step) as f64;
        if p[*at].is_nan() || p[*at] > level / tests_left {
            break;
        }
        passes[*at] = true;
    }
    passes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand at 5 %: 0.01 against 0.0125, 0.013 against 0.0167, then 0.03 fails against 0.025, and 0.04 with it.
    #[test]
    fn stops_at_the_first_that_fails() {
        assert_eq!(holm(&[0.04, 0.01, 0.03, 0.013], 0.05), [false, true, false, true]);
    }

    #[test]
    fn one_test_needs_no_correction_and_a_hole_is_still_a_test() {
        assert_eq!(holm(&[0.05], 0.05), [true]);
        assert_eq!(holm(&[0.03, f64::NAN], 0.05), [false, false]);
        assert_eq!(holm(&[], 0.05), [] as [bool; 0]);
    }
}
