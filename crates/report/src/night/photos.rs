//! Photos and pictures of pages, each with its digest.

use crate::page::Page;
use crate::sheets::{Photo, Section};
use ledger::{Digest, PersonId};
use words::report;

impl Page<'_> {
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
                let time = self.time(picture.written.when.at_ms);
                let who = self.names.person(&picture.written.who);
                self.photo(picture.blob, report::photo(lang, time, who))
            })
            .collect()
    }

    fn photo(&self, digest: Digest, mut says: String) -> Photo {
        let bytes = self.request.documents.pictures.get(&digest);
        let kind = bytes.and_then(|bytes| extension(bytes));
        if kind.is_none() {
            says += &format!(": {}", report::photo_missing(self.lang()));
        }
        Photo {
            file: kind.map(|kind| format!("{digest}.{kind}")),
            says,
            sha256: digest.to_string(),
            bytes: bytes.cloned().unwrap_or_default(),
        }
    }

    /// Pictures of pages that lines of the stretch were typed from, in the order of their first line.
    pub(crate) fn pages_of_paper(&self) -> Section<Photo> {
        let lang = self.lang();
        let mut pages: Vec<(Digest, &PersonId, usize)> = Vec::new();
        for line in self.request.watch.lines().filter(|line| self.within(self.at(line))) {
            let Some(page) = line.page else { continue };
            match pages.iter_mut().find(|(known, ..)| *known == page) {
                Some((.., lines)) => *lines += 1,
                None => pages.push((page, &line.who, 1)),
            }
        }
        let rows = pages.into_iter().map(|(page, writer, lines)| {
            self.photo(page, report::paper_page(lang, lines as i64, self.names.person(writer)))
        });
        Section {
            title: report::paper_pages(lang).to_owned(),
            rows: rows.collect(),
            none: String::new(),
        }
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
