//! The nearest of a list of names: what a refusal offers.

/// The name that a person most likely meant; the first of equals. `None` only for an empty list.
pub fn nearest<'a>(meant: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let meant = meant.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for name in names {
        let likeness = likeness(&meant, &name.to_lowercase());
        if best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, name));
        }
    }
    best.map(|(_, name)| name)
}

/// A name that contains what was typed beats one that is merely spelled alike.
fn likeness(meant: &str, name: &str) -> f64 {
    let alike = strsim::normalized_damerau_levenshtein(meant, name)
        .max(strsim::jaro_winkler(meant, name) * 0.9);
    let contained = meant.len() > 2 && name.contains(meant);
    alike + if contained { 0.3 } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offers_what_was_most_likely_meant() {
        let zones = ["America/Chicago", "America/New_York", "Europe/London", "Australia/Lord_Howe"];
        assert_eq!(nearest("America/Chicgo", zones), Some("America/Chicago"));
        assert_eq!(nearest("london", zones), Some("Europe/London"));
        assert_eq!(nearest("", zones), Some("America/Chicago"));
        assert_eq!(nearest("x", []), None);
    }
}
