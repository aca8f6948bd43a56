//! The night report of a told night: what its page one says, and what the file is.

#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;

use outside::page_texts;
use report::sheets::NightSheet;
use report::{Copy, Request, compose, from_bundle};
use words::Lang;

const LATE: &str = "\
site: Gannet Hotel, 3 Harbour Row, Gannet
id: w-late
date: 2026-02-12
watch: 20:00 to 21:30
gap stair-b: 15 min
gap hall: 30 min
source: authority Order 26-118
people: Ines
first round: 15 min

20:00 Ines begins until 21:30
20:04 Ines sees stair-b
20:08 Ines sees hall
20:18 Ines sees stair-b
20:31 Ines sees hall
20:32 Ines sees stair-b
20:58 Ines sees stair-b
21:00 Ines sees hall
21:11 Ines sees stair-b
21:24 Ines sees stair-b
21:25 Ines sees hall
21:30 Ines ends and signs
";

fn bundle(night: &str) -> Vec<u8> {
    night::tell(night).expect("the night is told rightly").bundle().expect("a told night fits")
}

fn sheet(bundle_bytes: &[u8], lang: Lang) -> NightSheet {
    let folded = from_bundle(bundle::open(bundle_bytes)).expect("a watch");
    compose(&Request { copy: Copy::Client, lang, ..folded.whole() })
}

/// What a fire marshal asks, answered from page one alone (the questions follow the list of what an
/// inspector wants on one page; common practice).
#[test]
fn a_marshal_finds_the_answers_on_page_one() {
    let pdf = sheet(&bundle(LATE), Lang::En).to_pdf("w-late 1", 0).expect("a page");
    let page = &page_texts(&pdf)[0];
    for (question, answer) in [
        ("which site", "Gannet Hotel"),
        ("which night, whose", "Fire watch, 20:00 to 21:30 on 12 February 2026"),
        ("kept or not", "Not kept: 1 of 2 zones went over."),
        ("largest gap", "unseen 26 min"),
        ("what was allowed", "15 min allowed"),
        ("by which order", "Order 26-118"),
        ("who was there", "Ines"),
        ("unbroken record", "Lines unaltered (checked on issue)."),
        ("what that does not show", "This does not show that anyone walked."),
    ] {
        assert!(page.contains(answer), "{question}: {answer:?} is not on page one:\n{page}");
    }
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let bytes = bundle(LATE);
    let set = || sheet(&bytes, Lang::Es).to_pdf("w-late 1", 0).expect("a page");
    assert!(set() == set());
}

#[test]
fn a_damaged_record_says_so_on_every_page() {
    let mut record = night::tell(LATE).expect("told").bundle().expect("fits");
    let middle = record.len() / 2;
    record[middle] ^= 1;
    let opened = bundle::open(&record);
    assert!(!opened.verdict.ok);
    if let Ok(folded) = from_bundle(opened) {
        assert!(matches!(folded.unaltered, report::Unaltered::Faults(1..)));
    }
}

#[test]
fn a_kept_night_without_signal_is_kept_and_says_when_it_was_sealed() {
    let offline = include_str!("../../../fixtures/nights/offline.night");
    let sheet = sheet(&bundle(offline), Lang::En);
    assert!(sheet.verdict.starts_with("Kept:"), "{}", sheet.verdict);
    assert!(
        sheet.zone_notes.iter().any(|note| note.contains("without\u{a0}signal")),
        "{:?}",
        sheet.zone_notes
    );
}
