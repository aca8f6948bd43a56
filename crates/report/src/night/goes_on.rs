//! Who goes on, and who signed.

use crate::page::Page;
use crate::sheets::{Lines, Photo, Section};
use rules::say::Say;
use words::report;

impl Page<'_> {
    pub(crate) fn goes_on(&self) -> Lines {
        let lang = self.lang();
        let mut rows = Vec::new();
        if let Some(release) = self.state.released() {
            let time = self.clock(release.at_ms);
            rows.push(report::goes_on_released(lang, release.by.say(lang), time));
        } else {
            let people: Vec<&str> =
                self.state.on_duty.iter().map(|duty| self.names.person(&duty.who)).collect();
            rows.push(match people.is_empty() {
                true => report::goes_on_nobody(lang).to_owned(),
                false => report::goes_on_duty(lang, people.join(", ")),
            });
            let next = self.state.scheduled.iter().find(|s| s.from_ms > self.request.about_ms);
            rows.extend(next.map(|next| {
                let time = self.clock(next.from_ms);
                report::goes_on_next(lang, self.names.person(&next.person), time)
            }));
        }
        Section { title: report::goes_on(lang).to_owned(), rows, none: String::new() }
    }

    pub(crate) fn signatures(&self) -> Lines {
        let lang = self.lang();
        let signed = |who: &ledger::PersonId, at_ms: i64| {
            report::signed(lang, self.clock(at_ms), self.names.person(who))
        };
        let shifts = self.state.shifts.iter().filter(|shift| self.meets(shift));
        let ends = shifts.filter_map(|shift| {
            let ended = shift.ended.as_ref()?;
            Some((ended.when.at_ms, signed(&shift.who, ended.when.at_ms)))
        });
        let reviews = self.state.reviews.iter().map(|review| {
            let what = match review.countersigned {
                true => words::entries::countersigned(lang, review.of.say(lang)),
                false => words::entries::reviewed(lang, review.of.say(lang)),
            };
            let at_ms = review.written.when.at_ms;
            (at_ms, format!("{} ({what})", signed(&review.written.who, at_ms)))
        });
        let mut rows: Vec<(i64, String)> = ends.chain(reviews).collect();
        rows.sort();
        Section {
            title: report::signatures(lang).to_owned(),
            rows: rows.into_iter().map(|(_, row)| row).collect(),
            none: report::signatures_none(lang).to_owned(),
        }
    }

    pub(crate) fn photos(&self) -> Section<Photo> {
        let rows = self.photos_between(self.from_ms, self.until_ms);
        Section { title: report::photos(self.lang()).to_owned(), rows, none: String::new() }
    }

    /// Pictures taken in a stretch. One whose bytes are missing or are no picture stands by its digest.
    pub(crate) fn photos_between(&self, from_ms: i64, until_ms: i64) -> Vec<Photo> {
        let lang = self.lang();
        let pictures = self.state.pictures.iter().filter(|picture| {
            picture.mime.starts_with("image/")
                && (from_ms..=until_ms).contains(&picture.written.when.at_ms)
        });
        pictures
            .map(|picture| {
                let bytes = self.request.documents.pictures.get(&picture.blob);
                let kind = bytes.and_then(|bytes| extension(bytes));
                let time = self.clock(picture.written.when.at_ms);
                let mut says = report::photo(lang, time, self.names.person(&picture.written.who));
                if kind.is_none() {
                    says += &format!(": {}", report::photo_missing(lang));
                }
                Photo {
                    file: kind.map(|kind| format!("{}.{kind}", picture.blob)),
                    says,
                    sha256: picture.blob.to_string(),
                    bytes: bytes.cloned().unwrap_or_default(),
                }
            })
            .collect()
    }
}

/// The kind of picture by its first bytes: what a line calls it is only a claim.
fn extension(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xff, 0xd8, 0xff, ..] => Some("jpg"),
        [0x89, b'P', b'N', b'G', ..] => Some("png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("webp"),
        _ => None,
    }
}
