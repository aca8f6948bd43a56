//! Photos and pictures of pages, each with its digest.

use super::print_size;
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
        let lang = self.lang();
        let bytes = self.request.documents.pictures.get(&digest);
        let printed = bytes.and_then(|bytes| print_size::of(bytes));
        match (bytes, &printed) {
            (None, _) => says += &format!(": {}", report::photo_missing(lang)),
            (Some(_), None) => says += &format!(": {}", report::photo_unreadable(lang)),
            _ => {}
        }
        Photo {
            file: printed.as_ref().map(|printed| format!("{digest}.{}", printed.kind)),
            says,
            sha256: digest.to_string(),
            bytes: printed.map(|printed| printed.bytes).unwrap_or_default(),
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
