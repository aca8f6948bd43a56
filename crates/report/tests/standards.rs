//! Every paper is PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1), as two outside checkers see it.

mod eventful;
#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;
mod told;

use outside::standards::Files;
use report::{Folded, Kind, LogSheet, Paper, Request, Unaltered};
use told::fold;
use words::Lang;

const EMPTY: &str = "site: Gannet Quay\nid: w-empty\nwatch: 20:00 to 21:00\ngap hall: 30 min\n";

fn request(folded: &Folded, lang: Lang, paper: Paper) -> Request<'_> {
    let bundle = Some(ledger::Digest::of(b"a bundle"));
    Request { lang, paper, bundle, ..folded.whole() }
}

fn log_sheet(folded: &Folded, lang: Lang, paper: Paper, filled: bool) -> Vec<u8> {
    let log_sheet = LogSheet {
        watch: &folded.watch,
        about_ms: folded.last_rx_ms.expect("lines"),
        span_ms: None,
        documents: &folded.documents,
        unaltered: Unaltered::Checked,
        filled,
        columns: &sheet::Columns::default(),
        lang,
        paper,
    };
    log_sheet.to_pdf("sheet").expect("a page")
}

#[test]
fn every_paper_of_a_full_and_of_an_empty_night_keeps_both_standards() {
    let mut files = Files::new("every");
    for (called, night, lang, paper) in [
        ("full-en", eventful::night(), Lang::En, Paper::A4),
        ("full-es", eventful::night(), Lang::Es, Paper::Letter),
        ("empty-en", EMPTY.to_owned(), Lang::En, Paper::Letter),
        ("empty-es", EMPTY.to_owned(), Lang::Es, Paper::A4),
    ] {
        let folded = fold(&night);
        for kind in Kind::ALL {
            let pdf = kind.to_pdf(&request(&folded, lang, paper), kind.name()).expect("a page");
            files.add(&format!("{called}-{}", kind.name()), &pdf);
        }
        for filled in [false, true] {
            let pdf = log_sheet(&folded, lang, paper, filled);
            files.add(&format!("{called}-sheet-{filled}"), &pdf);
        }
    }
    assert_eq!(files.faults(), "");
}

/// The checkers do check: a file that says of itself that it is of another part is named.
#[test]
fn a_file_that_keeps_neither_is_named() {
    let folded = fold(EMPTY);
    let pdf = Kind::Hours.to_pdf(&request(&folded, Lang::En, Paper::A4), "h").expect("a page");
    let mut files = Files::new("neither");
    for (name, from, to) in [
        ("archive", b"<pdfaid:part>2", b"<pdfaid:part>1"),
        ("access", b"<pdfuaid:part>", b"<pdfuaxx:part>"),
    ] {
        let at = pdf.windows(from.len()).position(|bytes| bytes == from).expect("the metadata");
        let mut changed = pdf.clone();
        changed[at..at + to.len()].copy_from_slice(to);
        files.add(name, &changed);
    }
    let faults = files.faults();
    for (name, profile) in [("archive.pdf", "2a"), ("access.pdf", "ua1")] {
        let named = faults.lines().any(|line| line.starts_with(name) && line.contains(profile));
        assert!(named, "{name}: {faults}");
    }
}
