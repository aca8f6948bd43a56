//! What the fonts can print: words in other letters are marked, very long words may break.
//!
//! The faces that are embedded hold latin letters. A file that asks for a letter they lack would break
//! PDF/A, which allows no missing glyph; so a run of such letters becomes `[?]`, and the foot of every
//! page says what that stands for. The record keeps the words as they were written.

use crate::engine;
use serde_json::Value;

const MARK: &str = "[?]";

/// A word longer than this may break anywhere (our own figure): no cell of our pages is narrower.
const WORD_MAX: usize = 18;

/// Digests stay whole, so that they can be copied.
const DIGEST: usize = 64;

const BREAK_HERE: char = '\u{200b}';

/// Makes every text in the data printable; tells whether any letter had to be marked.
pub(crate) fn make_printable(data: &mut Value) -> bool {
    match data {
        Value::String(text) => {
            let marked = mark_uncovered(text);
            break_long_words(text);
            marked
        }
        Value::Array(items) => {
            items.iter_mut().map(make_printable).fold(false, |any, marked| any | marked)
        }
        // A picture's file is a name among the pictures, not a text.
        Value::Object(map) => map
            .iter_mut()
            .filter(|(key, _)| *key != "file")
            .map(|(_, value)| make_printable(value))
            .fold(false, |any, marked| any | marked),
        _ => false,
    }
}

/// Replaces each run of letters without a glyph; tells whether there were any. The spaces between two
/// such words belong to the run.
pub(crate) fn mark_uncovered(text: &mut String) -> bool {
    if text.is_ascii() || text.chars().all(covered) {
        return false;
    }
    let mut out = String::new();
    let mut held = String::new();
    let mut in_run = false;
    for c in text.chars().filter(|c| !is_mark_without_letter(*c)) {
        if !covered(c) {
            if !in_run {
                out += &held;
                out += MARK;
            }
            held.clear();
            in_run = true;
        } else if c == ' ' {
            held.push(c);
        } else {
            out += &held;
            held.clear();
            out.push(c);
            in_run = false;
        }
    }
    out += &held;
    *text = out;
    true
}

/// Line ends need no glyph; a drawing ends with one.
fn covered(c: char) -> bool {
    c == '\n' || engine::covers(c)
}

/// Marks of direction and joining: nothing to see, and nothing without their letters.
fn is_mark_without_letter(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

fn break_long_words(text: &mut String) {
    let long = |word: &str| word.chars().count() > WORD_MAX && !is_digest(word);
    if !text.split(char::is_whitespace).any(long) {
        return;
    }
    let mut out = String::with_capacity(text.len() * 2);
    for piece in text.split_inclusive(char::is_whitespace) {
        let breaks = long(piece.trim_end());
        for (i, c) in piece.chars().enumerate() {
            if breaks && i > 0 && i % (WORD_MAX / 2) == 0 {
                out.push(BREAK_HERE);
            }
            out.push(c);
        }
    }
    *text = out;
}

fn is_digest(word: &str) -> bool {
    let word = word.trim_matches(|c: char| !c.is_ascii_alphanumeric());
    word.len() == DIGEST && word.bytes().all(|b| b.is_ascii_hexdigit())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marked(text: &str) -> (String, bool) {
        let mut text = text.to_owned();
        let any = mark_uncovered(&mut text);
        (text, any)
    }

    #[test]
    fn words_in_other_letters_are_marked_and_the_rest_stays() {
        assert_eq!(marked("Niña – “Ölçü”"), ("Niña – “Ölçü”".to_owned(), false));
        assert_eq!(marked("Łukasz Ğ"), ("Łukasz Ğ".to_owned(), false));
        assert_eq!(marked("guard דוד לוי signed"), ("guard [?] signed".to_owned(), true));
        assert_eq!(marked("محمد"), ("[?]".to_owned(), true));
        assert_eq!(marked("Niña\n"), ("Niña\n".to_owned(), false));
    }

    #[test]
    fn long_words_may_break_and_digests_may_not() {
        let mut word = "x".repeat(40);
        break_long_words(&mut word);
        assert_eq!(word.chars().filter(|c| *c == BREAK_HERE).count(), 4);
        let mut digest = "0a".repeat(32);
        break_long_words(&mut digest);
        assert!(digest.is_ascii());
    }
}
