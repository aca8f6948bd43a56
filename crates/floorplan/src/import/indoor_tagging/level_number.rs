//! Levels as their tags number them.

use super::super::drawn::Drawn;
use crate::id::LevelId;
use std::collections::BTreeSet;

/// A level number in hundredths, so that landings (0.5) sort between storeys.
pub(super) type LevelNumber = i64;

/// The level numbers of `level` and `repeat_on`: single ones, lists by `;`, ranges by `-`.
pub(super) fn level_numbers(d: &Drawn) -> BTreeSet<LevelNumber> {
    [d.tag("level"), d.tag("repeat_on")].into_iter().flatten().flat_map(numbers).collect()
}

fn numbers(text: &str) -> Vec<LevelNumber> {
    text.split([';', ',']).flat_map(|part| range(part.trim()).unwrap_or_default()).collect()
}

/// One number, or the whole numbers between two: `0-3`, `-1-3`, `-2--1`.
fn range(text: &str) -> Option<Vec<LevelNumber>> {
    if let Some(single) = number(text) {
        return Some(vec![single]);
    }
    let dash = text
        .char_indices()
        .skip(1)
        .find(|(i, c)| *c == '-' && text[..*i].ends_with(|c: char| c.is_ascii_digit()))?
        .0;
    let (from, to) = (number(text[..dash].trim())?, number(text[dash + 1..].trim())?);
    let (from, to) = (from.min(to), from.max(to));
    ((to - from) <= 30_000).then(|| (0..=(to - from) / 100).map(|k| from + 100 * k).collect())
}

fn number(text: &str) -> Option<LevelNumber> {
    let value: f64 = text.parse().ok()?;
    (value.is_finite() && value.abs() < 1000.0).then(|| libm::round(value * 100.0) as i64)
}

pub(super) fn level_name(number: LevelNumber) -> String {
    if number % 100 == 0 {
        format!("{}", number / 100)
    } else {
        format!("{:.2}", number as f64 / 100.0)
    }
}

pub(super) fn level_id(number: LevelNumber) -> LevelId {
    let sign = if number < 0 { "m" } else { "" };
    LevelId::from_name(&format!("level-{sign}{}", level_name(number.abs())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn level_values() {
        for (text, expect) in [
            ("0", vec![0]),
            ("0;1", vec![0, 100]),
            ("-1-1", vec![-100, 0, 100]),
            ("-2--1", vec![-200, -100]),
            ("0.5", vec![50]),
            ("roof", vec![]),
        ] {
            assert_eq!(numbers(text), expect, "{text}");
        }
    }
}
