//! Every sentence that a person reads, for phone, desk, paper and command line.
//!
//! One folder per language under `lang/`, one file per screen or page. `build.rs` turns the keys
//! into functions, so a key that a language lacks, or a blank that differs between languages, is a
//! compile error. No logic: whoever asks brings the numbers; [`number`] only says how they are spelled.
//!
//! A new language is a new folder with the same files (recipe in `CONTRIBUTING.md`).

mod number;

pub use number::{
    NBSP, clock, clock_with_seconds, date, day_and_month, decimal, duration_words, file_size,
    lasting, metres, minutes, minutes_left, month, seconds, unseen_for, weekday, zone_place,
};

include!(concat!(env!("OUT_DIR"), "/words.rs"));

impl Lang {
    /// The language for a BCP 47 tag such as `es-MX`, English if there is none.
    pub fn from_tag(tag: &str) -> Lang {
        let primary = tag.split(['-', '_']).next().unwrap_or_default().to_ascii_lowercase();
        Lang::ALL.into_iter().find(|lang| lang.tag() == primary).unwrap_or(Lang::En)
    }

    /// The best language of an `Accept-Language` header.
    pub fn from_accept_language(header: &str) -> Lang {
        let mut wanted: Vec<(u32, &str)> = header
            .split(',')
            .filter_map(|part| {
                let mut pieces = part.trim().split(';');
                let tag = pieces.next()?.trim();
                let weight = pieces
                    .find_map(|piece| piece.trim().strip_prefix("q=")?.parse::<f32>().ok())
                    .unwrap_or(1.0);
                Some(((weight * 1000.0) as u32, tag))
            })
            .collect();
        wanted.sort_by_key(|(weight, _)| std::cmp::Reverse(*weight));
        wanted
            .iter()
            .find_map(|(_, tag)| {
                let primary = tag.split('-').next()?.to_ascii_lowercase();
                Lang::ALL.into_iter().find(|lang| lang.tag() == primary)
            })
            .unwrap_or(Lang::En)
    }
}

#[cfg(test)]
mod tests {
    use super::Lang;

    #[test]
    fn the_reader_gets_the_first_language_we_have() {
        assert_eq!(Lang::from_accept_language("fr, es-MX;q=0.8, en;q=0.5"), Lang::Es);
        assert_eq!(Lang::from_accept_language("de"), Lang::En);
        assert_eq!(Lang::from_tag("es-419"), Lang::Es);
    }
}
