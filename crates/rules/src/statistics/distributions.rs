//! Tail probabilities, on `libm` alone so that native and wasm agree.

/// Chance that a chi-square variable with `df` degrees of freedom is at least `x`: the regularised upper incomplete gamma
/// function Q(df/2, x/2), by series below df/2 + 1 and by continued fraction above (Abramowitz and Stegun 6.5.29, 6.5.31).
pub fn chi_square_tail(x: f64, df: u32) -> f64 {
    if df == 0 || x.is_nan() {
        return f64::NAN;
    }
    let (a, x) = (f64::from(df) / 2.0, x / 2.0);
    if x <= 0.0 {
        return 1.0;
    }
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    let tail =
        if x < a + 1.0 { 1.0 - front * lower_series(a, x) } else { front * upper_fraction(a, x) };
    tail.clamp(0.0, 1.0)
}

const STEPS: usize = 10_000;

/// The sum of x^n / (a (a+1) … (a+n)).
fn lower_series(a: f64, x: f64) -> f64 {
    let mut term = 1.0 / a;
    let mut sum = term;
    for n in 1..STEPS {
        term *= x / (a + n as f64);
        sum += term;
        if term < sum * f64::EPSILON {
            break;
        }
    }
    sum
}

/// The continued fraction of the upper function, by Lentz's method.
fn upper_fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut product = d;
    for n in 1..STEPS {
        let n = n as f64;
        let numerator = -n * (n - a);
        b += 2.0;
        d = 1.0 / nonzero(numerator * d + b, TINY);
        c = nonzero(b + numerator / c, TINY);
        let step = d * c;
        product *= step;
        if (step - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    product
}

fn nonzero(value: f64, tiny: f64) -> f64 {
    if value.abs() < tiny { tiny } else { value }
}

/// Chance of at least `k` successes in `n` trials of probability `p`, summed exactly.
pub fn binomial_tail(k: u32, n: u32, p: f64) -> f64 {
    if k == 0 {
        return 1.0;
    }
    if k > n || p <= 0.0 {
        return 0.0;
    }
    if p >= 1.0 {
        return 1.0;
    }
    let (n_f, ln_p, ln_q) = (f64::from(n), libm::log(p), libm::log1p(-p));
    let term = |i: u32| {
        let i = f64::from(i);
        let choose = libm::lgamma(n_f + 1.0) - libm::lgamma(i + 1.0) - libm::lgamma(n_f - i + 1.0);
        libm::exp(choose + i * ln_p + (n_f - i) * ln_q)
    };
    // From the small end, so that little terms are not lost beside large ones.
    (k..=n).rev().map(term).sum::<f64>().min(1.0)
}

/// Chance that a standard normal variable is farther from zero than `z`, on either side.
pub fn normal_two_sided(z: f64) -> f64 {
    libm::erfc(z.abs() / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Critical values of the chi-square distribution as every table prints them (NIST/SEMATECH e-Handbook 1.3.6.7.4): the
    /// tail at the printed value is the level, within what its last digit allows.
    #[test]
    fn critical_values_of_the_tables() {
        let table = [
            (1, 3.841, 0.05),
            (1, 6.635, 0.01),
            (4, 9.488, 0.05),
            (4, 13.277, 0.01),
            (5, 11.070, 0.05),
            (5, 15.086, 0.01),
            (9, 16.919, 0.05),
            (9, 21.666, 0.01),
            (9, 27.877, 0.001),
            (11, 19.675, 0.05),
            (11, 24.725, 0.01),
            (59, 77.931, 0.05),
            (59, 87.166, 0.01),
        ];
        for (df, x, level) in table {
            let (above, below) =
                (chi_square_tail(x + 0.000_6, df), chi_square_tail(x - 0.000_6, df));
            assert!(above < level && level < below, "{df} {x}: {above} {below}");
        }
    }

    /// df 2 is the exponential distribution: the tail is exp(-x/2). df 1 is the square of a normal variable.
    #[test]
    fn closed_forms() {
        for step in 1..400 {
            let x = f64::from(step) / 4.0;
            let relative = |found: f64, known: f64| ((found - known) / known).abs();
            assert!(relative(chi_square_tail(x, 2), libm::exp(-x / 2.0)) < 1e-12, "{x}");
            assert!(
                relative(chi_square_tail(x, 1), normal_two_sided(libm::sqrt(x))) < 1e-11,
                "{x}"
            );
        }
    }

    /// Fractions with small whole numbers, by hand: at least 2 heads of 3 is 1/2, at least 1 six of 4 dice 1 - (5/6)^4.
    #[test]
    fn binomials_by_hand() {
        assert!((binomial_tail(2, 3, 0.5) - 0.5).abs() < 1e-13);
        assert!((binomial_tail(1, 4, 1.0 / 6.0) - 671.0 / 1_296.0).abs() < 1e-13);
        assert_eq!(binomial_tail(0, 4, 0.3), 1.0);
        assert_eq!(binomial_tail(5, 4, 0.3), 0.0);
    }

    /// Printed by SciPy 1.17.1: `stats.chi2.sf`, `stats.binom.sf(k - 1, n, 0.2)` and `2 * stats.norm.sf`.
    #[test]
    fn values_that_scipy_prints() {
        let near = |found: f64, scipy: f64| {
            assert!(((found - scipy) / scipy).abs() < 1e-11, "{found} {scipy}")
        };
        let chi_square = [
            (1, 0.5, 4.795001221869534e-01),
            (3, 2.0, 5.724067044708798e-01),
            (9, 4.0, 9.114125268316792e-01),
            (9, 16.919, 4.999964084834983e-02),
            (9, 40.0, 7.598525229464264e-06),
            (11, 3.5, 9.823351040414255e-01),
            (59, 77.931, 4.999624001472227e-02),
            (59, 30.0, 9.993975327117176e-01),
            (120, 200.0, 6.341503427369146e-06),
        ];
        for (df, x, scipy) in chi_square {
            near(chi_square_tail(x, df), scipy);
        }
        let binomial = [
            (11, 24, 3.788378129319192e-03),
            (17, 48, 9.31858820208333e-03),
            (18, 50, 6.260774584862622e-03),
            (30, 96, 6.043751149382889e-03),
            (60, 96, 1.404345037822978e-19),
            (1, 5, 6.7232e-01),
            (200, 500, 1.092178280827308e-24),
        ];
        for (k, n, scipy) in binomial {
            near(binomial_tail(k, n, 0.2), scipy);
        }
        let normal = [
            (0.1, 9.20344325445942e-01),
            (1.0, 3.173105078629141e-01),
            (1.96, 4.999579029644087e-02),
            (3.5, 4.6525815807105e-04),
            (6.0, 1.973175290075389e-09),
        ];
        for (z, scipy) in normal {
            near(normal_two_sided(z), scipy);
        }
    }
}
