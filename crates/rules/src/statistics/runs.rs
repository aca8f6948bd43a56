//! Runs above and below the median (Wald and Wolfowitz; NIST/SEMATECH e-Handbook 1.3.5.13): invented sequences change sides too often.

use super::distributions::normal_two_sided;

/// Runs about the median.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunsTest {
    /// Values above the median.
    pub above: u32,
    /// Values below it; those equal to it are left out.
    pub below: u32,
    /// Runs.
    pub runs: u32,
    /// E(R) = 2 n₁ n₂ / (n₁ + n₂) + 1.
    pub expected: f64,
    /// Standard deviation of the number of runs.
    pub sd: f64,
    /// (R − E) / sd.
    pub z: f64,
    /// Chance of one at least so far from zero.
    pub p: f64,
}

/// Tests the order of the values; `None` when a side is empty, or nothing can vary.
pub fn runs_about_median(values: &[f64]) -> Option<RunsTest> {
    if values.iter().any(|value| value.is_nan()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    let median = match sorted.len() {
        0 => return None,
        n if n % 2 == 0 => (sorted[middle - 1] + sorted[middle]) / 2.0,
        _ => sorted[middle],
    };
    let sides: Vec<bool> =
        values.iter().filter(|value| **value != median).map(|value| *value > median).collect();
    let above = sides.iter().filter(|side| **side).count() as u32;
    let below = sides.len() as u32 - above;
    let changes = sides.windows(2).filter(|pair| pair[0] != pair[1]).count() as u32;
    of_counts(above, below, changes + 1)
}

fn of_counts(above: u32, below: u32, runs: u32) -> Option<RunsTest> {
    if above == 0 || below == 0 {
        return None;
    }
    let (n1, n2) = (f64::from(above), f64::from(below));
    let (n, product) = (n1 + n2, 2.0 * n1 * n2);
    let expected = product / n + 1.0;
    let sd = libm::sqrt(product * (product - n) / (n * n * (n - 1.0)));
    if sd <= 0.0 {
        return None;
    }
    let z = (f64::from(runs) - expected) / sd;
    Some(RunsTest { above, below, runs, expected, sd, z, p: normal_two_sided(z) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Twelve on each side: 13 runs expected, standard deviation 2.40, from the formulas of the handbook by hand:
    /// 288 · 264 / (576 · 23) = 5.739.
    #[test]
    fn twelve_on_each_side() {
        let zigzag: Vec<f64> = (0..24).map(|i| f64::from(i % 2)).collect();
        let test = runs_about_median(&zigzag).expect("two sides");
        assert_eq!((test.above, test.below, test.runs, test.expected), (12, 12, 24, 13.0));
        assert!(
            (test.sd - libm::sqrt(288.0 * 264.0 / (576.0 * 23.0))).abs() < 1e-12
                && (test.sd - 2.40).abs() < 0.005
        );
        assert!(test.z > 1.96 && test.p < 0.001);
    }

    /// NIST/SEMATECH e-Handbook 1.3.5.13: at the 5 % level the critical value is 1.96.
    #[test]
    fn critical_value_at_five_percent() {
        assert!(normal_two_sided(1.96) < 0.05 && normal_two_sided(1.959) > 0.05);
    }

    #[test]
    fn one_side_is_no_test() {
        assert_eq!(runs_about_median(&[]), None);
        assert_eq!(runs_about_median(&[3.0, 3.0, 3.0]), None);
        assert_eq!(runs_about_median(&[1.0, f64::NAN]), None);
    }
}
