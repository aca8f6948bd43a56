//! Statistics against what others computed: SciPy and statsmodels (`reference/table.txt`, whose head names the versions and
//! the calls; `cargo x bench statistics` asks them anew with other seeds), and the reference data sets of NIST.

mod reference;

use rules::statistics::coefficient_of_variation;

#[test]
fn as_scipy_and_statsmodels_print_it() {
    let compared = reference::compare(include_str!("reference/table.txt"));
    assert_eq!(compared.len(), 9, "{compared:?}");
    for (name, (rows, worst)) in compared {
        assert!(rows >= 25 && worst < reference::SHARE_MAX, "{name}: {rows} rows, {worst:e}");
    }
}

/// NIST Statistical Reference Datasets, univariate: NumAcc1 (lower), NumAcc2 and 3 (average), NumAcc4 (higher difficulty), with
/// certified mean and standard deviation (from memory). In double precision the data of NumAcc4 itself carry about
/// eight digits of their spread.
#[test]
fn spreads_that_nist_certifies() {
    let alternating = |first: f64, low: f64, high: f64| -> Vec<f64> {
        let rest = (0..1_000).map(|n| if n % 2 == 0 { low } else { high });
        std::iter::once(first).chain(rest).collect()
    };
    let sets = [
        (vec![10_000_001.0, 10_000_003.0, 10_000_002.0], 10_000_002.0, 1.0, 1e-14),
        (alternating(1.2, 1.1, 1.3), 1.2, 0.1, 1e-13),
        (alternating(1_000_000.2, 1_000_000.1, 1_000_000.3), 1_000_000.2, 0.1, 1e-8),
        (alternating(10_000_000.2, 10_000_000.1, 10_000_000.3), 10_000_000.2, 0.1, 1e-7),
    ];
    for (data, mean, sd, share) in sets {
        let found = coefficient_of_variation(&data).expect("many values") * mean;
        assert!((found / sd - 1.0).abs() < share, "mean {mean}: {found}");
    }
}
