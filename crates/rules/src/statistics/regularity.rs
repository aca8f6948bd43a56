//! Intervals that are too even. A bounded gap is the virtue, not a regular one.

/// Standard deviation over mean, with n − 1; `None` for fewer than two lengths or a mean that is not above zero.
pub fn coefficient_of_variation(lengths: &[f64]) -> Option<f64> {
    let n = lengths.len() as f64;
    if lengths.len() < 2 {
        return None;
    }
    let mean = lengths.iter().sum::<f64>() / n;
    let squares: f64 = lengths.iter().map(|length| (length - mean) * (length - mean)).sum();
    (mean > 0.0).then(|| libm::sqrt(squares / (n - 1.0)) / mean)
}

/// Chance that an interval equals its plan to the minute when each of its ends has the spread `sd_min`, in minutes:
/// 2Φ(0.5 / (σ√2)) − 1. `None` for a spread that is not above zero.
pub fn same_minute_chance(sd_min: f64) -> Option<f64> {
    // 2Φ(z) − 1 is erf(z/√2), and z is 0.5/(σ√2).
    (sd_min > 0.0).then(|| libm::erf(0.25 / sd_min))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 2, 4, 4, 4, 5, 5, 7, 9 has mean 5 and a sum of squares of 32.
    #[test]
    fn spread_by_hand() {
        let found = coefficient_of_variation(&[2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0])
            .expect("eight lengths");
        assert!((found - libm::sqrt(32.0 / 7.0) / 5.0).abs() < 1e-15);
        assert_eq!(coefficient_of_variation(&[30.0, 30.0, 30.0]), Some(0.0));
        assert_eq!(coefficient_of_variation(&[30.0]), None);
        assert_eq!(coefficient_of_variation(&[0.0, 0.0]), None);
    }

    /// 0.28, 0.14 and 0.09 for spreads of 1, 2 and 3 minutes; eight in a row 3e-5, 1.5e-7 and 6e-9. From a table of the normal
    /// distribution.
    #[test]
    fn chance_of_the_same_minute() {
        for (sd, once, eight) in [(1.0, 0.28, 3e-5), (2.0, 0.14, 1.5e-7), (3.0, 0.09, 6e-9)] {
            let chance = same_minute_chance(sd).expect("a spread");
            assert!((chance - once).abs() < 0.005, "{sd}: {chance}");
            let row = libm::pow(chance, 8.0);
            assert!((row / eight - 1.0).abs() < 0.3, "{sd}: {row}");
        }
        assert_eq!(same_minute_chance(0.0), None);
    }
}
