//! What was typed into a form, as it came: shown again unchanged when something in it is wrong.

use std::collections::BTreeMap;

/// What is wrong with which field, as a sentence that says what to do.
pub(crate) type Faults = BTreeMap<&'static str, &'static str>;

/// Every field with its values; a field that may be chosen several times has several.
#[derive(Debug, Clone, Default)]
pub(crate) struct Typed(BTreeMap<String, Vec<String>>);

impl Typed {
    /// Reads the pairs of a form or of an address.
    pub(crate) fn read(pairs: impl IntoIterator<Item = (String, String)>) -> Typed {
        let mut typed = Typed::default();
        for (name, value) in pairs {
            typed.0.entry(name).or_default().push(value);
        }
        typed
    }

    /// The value of a field without spaces around it; empty if it did not come.
    pub(crate) fn get(&self, name: &str) -> &str {
        self.all(name).last().map_or("", |value| value.trim())
    }

    /// Every value of a field.
    pub(crate) fn all(&self, name: &str) -> &[String] {
        self.0.get(name).map_or(&[], Vec::as_slice)
    }

    /// Whether a value of a field was chosen.
    pub(crate) fn chose(&self, name: &str, value: &str) -> bool {
        self.all(name).iter().any(|chosen| chosen == value)
    }

    /// The value of a field without what a line of text may not hold.
    pub(crate) fn text(&self, name: &str) -> String {
        plain(self.get(name))
    }

    /// Chooses one more value of a field.
    pub(crate) fn add(&mut self, name: &str, value: impl Into<String>) {
        self.0.entry(name.to_owned()).or_default().push(value.into());
    }

    /// Sets a field.
    pub(crate) fn set(&mut self, name: &str, value: impl Into<String>) {
        self.0.insert(name.to_owned(), vec![value.into()]);
    }
}

/// One line of text as it is kept: without control characters and spaces around it, in the one form of its letters.
pub(crate) fn plain(text: &str) -> String {
    let clean: String = text.chars().filter(|c| !c.is_control()).collect();
    ledger::canonical::nfc(clean.trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_may_come_several_times_and_spaces_are_no_answer() {
        let pair = |name: &str, value: &str| (name.to_owned(), value.to_owned());
        let mut typed = Typed::read([pair("out", "a"), pair("out", "b"), pair("name", "  ")]);
        assert!(typed.chose("out", "a") && typed.chose("out", "b") && !typed.chose("out", "c"));
        assert_eq!((typed.get("name"), typed.get("none")), ("", ""));
        typed.set("name", "Stair\u{7} B");
        assert_eq!(typed.text("name"), "Stair B");
    }
}
