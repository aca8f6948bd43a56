//! Normalization form C (Unicode Standard Annex 15): decomposed canonically, marks in order, composed
//! again. The tables are those of `unicode-normalization`; its own iterator carries the compatibility
//! tables along, which no line needs and every phone would have to fetch.

use unicode_normalization::char::{canonical_combining_class, compose, decompose_canonical};

/// The form of a text.
pub(super) fn nfc(text: &str) -> String {
    let mut letters: Vec<(u8, char)> = Vec::with_capacity(text.len());
    for letter in text.chars() {
        decompose_canonical(letter, |part| {
            letters.push((canonical_combining_class(part), part));
        });
    }
    in_order(&mut letters);
    composed(letters)
}

/// Marks behind a starter stand in the order of their classes; equal ones keep theirs.
fn in_order(letters: &mut [(u8, char)]) {
    for at in 1..letters.len() {
        let mut place = at;
        while place > 0 && letters[place].0 != 0 && letters[place - 1].0 > letters[place].0 {
            letters.swap(place - 1, place);
            place -= 1;
        }
    }
}

/// Joins each mark with the last starter if nothing of its class or above stands between.
fn composed(letters: Vec<(u8, char)>) -> String {
    let mut out: Vec<(u8, char)> = Vec::with_capacity(letters.len());
    let mut starter: Option<usize> = None;
    for (class, letter) in letters {
        let joined = starter.and_then(|at| {
            let between = out.last().filter(|_| out.len() > at + 1);
            let blocked = between.is_some_and(|(last, _)| *last >= class);
            let next = class != 0 || between.is_none();
            if blocked || !next { None } else { Some((at, compose(out[at].1, letter)?)) }
        });
        match joined {
            Some((at, letter)) => out[at].1 = letter,
            None => {
                if class == 0 {
                    starter = Some(out.len());
                }
                out.push((class, letter));
            }
        }
    }
    out.into_iter().map(|(_, letter)| letter).collect()
}

#[cfg(test)]
mod tests {
    use super::nfc;
    use proptest::prelude::*;
    use unicode_normalization::UnicodeNormalization;

    proptest! {
        /// Against the library's own iterator.
        #[test]
        fn any_text(text in "\\PC{0,12}") {
            prop_assert_eq!(nfc(&text), text.nfc().collect::<String>());
        }

        /// Latin, Vietnamese, Hangul, Hebrew and Devanagari with marks in any order.
        #[test]
        fn marks_in_any_order(
            text in "[a-eo\u{301}\u{302}\u{323}\u{327}\u{31b}\u{1100}\u{1161}\u{11a8}\u{5d1}\u{5bc}\u{5b0}\u{928}\u{93c}\u{1112}\u{344}]{0,10}"
        ) {
            prop_assert_eq!(nfc(&text), text.nfc().collect::<String>());
        }
    }

    /// Every character of the planes that have compositions, alone and between two marks.
    #[test]
    fn every_character() {
        for letter in '\0'..='\u{323af}' {
            for text in [letter.to_string(), format!("e\u{323}{letter}\u{302}")] {
                assert_eq!(nfc(&text), text.nfc().collect::<String>(), "{text:?}");
            }
        }
    }
}
