//! Matching a sentence with a form: words that must stand there, and blanks in angle brackets.

use std::cell::Cell;
use std::collections::BTreeMap;

/// What stood in the blanks of a form, by their names.
#[derive(Debug, Default)]
pub(crate) struct Blanks {
    filled: BTreeMap<&'static str, String>,
    /// The time given with `as of`, if any, ms UTC.
    as_of_ms: Option<i64>,
    /// Whether the sentence had use for that time.
    as_of_taken: Cell<bool>,
}

impl Blanks {
    /// The text of a blank that the form has.
    pub(crate) fn get(&self, name: &str) -> &str {
        self.filled.get(name).map_or("", String::as_str)
    }

    pub(crate) fn with_as_of(self, as_of_ms: Option<i64>) -> Self {
        Self { as_of_ms, ..self }
    }

    /// The time given with `as of`, for kinds that can state one, ms UTC.
    pub(crate) fn as_of_ms(&self) -> Option<i64> {
        self.as_of_taken.set(true);
        self.as_of_ms
    }

    /// A time was given and nothing of the sentence can state it.
    pub(crate) fn as_of_is_lost(&self) -> bool {
        self.as_of_ms.is_some() && !self.as_of_taken.get()
    }
}

/// Fills the blanks of a form from a sentence, if it is of that form. A blank takes one word or
/// more, as few as it can; after a colon `<text>` takes all that is left.
pub(crate) fn fill(form: &'static str, sentence: &str) -> Option<Blanks> {
    let (form, text) = match form.strip_suffix(": <text>") {
        Some(form) => {
            let (sentence, text) = sentence.split_once(": ")?;
            let mut blanks = words(form, sentence)?;
            blanks.filled.insert("text", text.trim().to_owned());
            return Some(blanks);
        }
        None => (form, sentence),
    };
    words(form, text)
}

fn words(form: &'static str, sentence: &str) -> Option<Blanks> {
    let form: Vec<&'static str> = form.split_whitespace().collect();
    let sentence: Vec<&str> = sentence.split_whitespace().collect();
    let mut blanks = Blanks::default();
    fill_from(&form, &sentence, &mut blanks.filled).then_some(blanks)
}

fn fill_from(
    form: &[&'static str],
    sentence: &[&str],
    filled: &mut BTreeMap<&'static str, String>,
) -> bool {
    let Some((first, form)) = form.split_first() else { return sentence.is_empty() };
    let (name, comma) = match first.strip_suffix(',') {
        Some(blank) if blank.starts_with('<') => (blank, true),
        _ => (*first, false),
    };
    let Some(name) = name.strip_prefix('<').and_then(|rest| rest.strip_suffix('>')) else {
        return sentence
            .split_first()
            .is_some_and(|(word, rest)| word == first && fill_from(form, rest, filled));
    };
    for count in 1..=sentence.len() {
        let taken = sentence[..count].join(" ");
        let text = match (comma, taken.strip_suffix(',')) {
            (true, None) | (false, Some(_)) => continue,
            (true, Some(text)) => text.to_owned(),
            (false, None) => taken,
        };
        if fill_from(form, &sentence[count..], filled) {
            filled.insert(name, text);
            return true;
        }
    }
    false
}

/// The form that a sentence most resembles: by the words that must stand there, and by its length.
pub(crate) fn nearest(forms: impl Iterator<Item = &'static str>, sentence: &str) -> Option<String> {
    let names = |word: &&str| word.starts_with(char::is_uppercase);
    let words: Vec<&str> =
        sentence.split_whitespace().map(|word| if names(&word) { "" } else { word }).collect();
    forms.max_by_key(|form| likeness(form, &words)).map(str::to_owned)
}

/// In thousandths. A word that begins with the same letter counts more: people mistype endings.
fn likeness(form: &str, sentence: &[&str]) -> i64 {
    let words: Vec<&str> = form.split_whitespace().collect();
    let is_blank = |word: &&str| word.starts_with('<') || word.starts_with(char::is_uppercase);
    let fixed: Vec<&str> = words.iter().copied().filter(|word| !is_blank(word)).collect();
    let like = |word: &str, other: &str| {
        let same_start = i64::from(word.get(..1) == other.get(..1));
        500 * same_start + (strsim::normalized_damerau_levenshtein(word, other) * 1000.0) as i64
    };
    let best = |word: &str| sentence.iter().map(|other| like(word, other)).max().unwrap_or(0);
    let likeness: i64 = fixed.iter().map(|word| best(word)).sum();
    likeness / fixed.len().max(1) as i64 - 60 * words.len().abs_diff(sentence.len()) as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_take_words_up_to_the_next_fixed_word() {
        let blanks = fill("<who> sees <zone> at <stop>", "Ines sees stair-b at stair-b-2").unwrap();
        assert_eq!((blanks.get("who"), blanks.get("zone")), ("Ines", "stair-b"));
        assert!(fill("<who> sees <zone>", "Ines finds exits").is_none());
    }

    #[test]
    fn commas_end_a_blank_and_text_takes_the_rest() {
        let blanks =
            fill("<who> finds <class>, <severity>: <text>", "Ines finds exits, note: a, b: c");
        assert_eq!(blanks.unwrap().get("text"), "a, b: c");
        let blanks =
            fill("<who> takes a break, covered by <other>", "Ines takes a break, covered by Omar");
        assert_eq!(blanks.unwrap().get("other"), "Omar");
    }
}
