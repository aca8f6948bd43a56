//! Rows of a table that SciPy and statsmodels printed, each asked of our own functions. The bench `statistics` reads fresh
//! tables with the same code.

use rules::statistics::distributions::{binomial_tail, chi_square_tail, normal_two_sided};
use rules::statistics::*;
use std::collections::BTreeMap;
use std::str::FromStr;

/// How far apart two answers may be, as a share of the larger: the tails are sums of up to a few thousand terms in double
/// precision, whose logarithms of factorials carry twelve to thirteen digits.
pub(crate) const SHARE_MAX: f64 = 1e-10;

/// The number of rows of each function and the largest difference, as a share of the larger value.
///
/// # Panics
/// When a row is not understood, or a table is cut off.
pub(crate) fn compare(table: &str) -> BTreeMap<&str, (usize, f64)> {
    let mut compared = BTreeMap::new();
    for row in table.lines().filter(|row| !row.starts_with('#')) {
        let (question, values) = row.split_once(" = ").expect("a row has an equals sign");
        let words: Vec<&str> = question.split(' ').collect();
        let (ours, theirs) = (ours(words[0], &words[1..]), list::<f64>(&values.replace(' ', ",")));
        assert_eq!(ours.len(), theirs.len(), "{row}");
        let worst = ours.iter().zip(&theirs).map(|(a, b)| apart(*a, *b)).fold(0.0, f64::max);
        let (rows, most) = compared.entry(words[0]).or_insert((0, 0.0_f64));
        (*rows, *most) = (*rows + 1, most.max(worst));
    }
    compared
}

fn apart(a: f64, b: f64) -> f64 {
    let share = (a - b).abs() / a.abs().max(b.abs());
    if a == b {
        0.0
    } else if share.is_nan() {
        f64::INFINITY
    } else {
        share
    }
}

fn ours(name: &str, arguments: &[&str]) -> Vec<f64> {
    let number = |at: usize| arguments[at].parse::<f64>().expect("a number");
    let whole = |at: usize| arguments[at].parse::<u32>().expect("a whole number");
    let written = "enough was written";
    match name {
        "chi_square_tail" => vec![chi_square_tail(number(0), whole(1))],
        "binomial_tail" => vec![binomial_tail(whole(0), whole(1), number(2))],
        "normal_two_sided" => vec![normal_two_sided(number(0))],
        "last_digits" => {
            let test = last_digits(&list(arguments[0])).expect(written);
            vec![test.statistic, test.p]
        }
        "zero_or_five" => vec![zero_or_five(&list(arguments[0])).expect(written).p],
        "coefficient_of_variation" => {
            vec![coefficient_of_variation(&list(arguments[0])).expect(written)]
        }
        "same_minute_chance" => vec![same_minute_chance(number(0)).expect(written)],
        "runs_about_median" => {
            let test = runs_about_median(&list(arguments[0])).expect(written);
            vec![test.z, test.p]
        }
        "holm" => {
            let passed = holm(&list(arguments[0]), 0.05);
            let bits = passed.iter().enumerate().map(|(at, passes)| u32::from(*passes) << at);
            vec![f64::from(bits.sum::<u32>())]
        }
        other => panic!("no function is called {other:?}"),
    }
}

fn list<T: FromStr>(text: &str) -> Vec<T> {
    let item = |item: &str| item.parse().ok().expect("a number");
    text.split(',').map(item).collect()
}
