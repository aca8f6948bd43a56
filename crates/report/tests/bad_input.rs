//! What a report makes of a record that is thin, large, strange or damaged.

#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;
mod told;

use outside::{check_sound, page_texts, text};
use report::{Copy, Folded, Kind, LogSheet, Paper, Request, Unaltered};
use std::fmt::Write as _;
use told::fold;
use words::Lang;

fn request(folded: &Folded) -> Request<'_> {
    Request { copy: Copy::Client, ..folded.whole() }
}

fn night_pdf(folded: &Folded) -> Vec<u8> {
    Kind::Night.to_pdf(&request(folded), "night").expect("a page")
}

/// A picture that a PDF can hold: `side` pixels of noise, so that it does not pack well.
fn png(side: u32, seed: u32) -> Vec<u8> {
    let mut state = seed.wrapping_mul(2_654_435_761) | 1;
    let pixel = |_, _| {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        image::Luma([(state & 0xff) as u8])
    };
    let picture = image::GrayImage::from_fn(side, side, pixel);
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).expect("a picture");
    bytes.into_inner()
}

/// A JPEG whose end is missing, as a broken transfer leaves it, and bytes that are no picture at all.
#[test]
fn a_picture_that_cannot_be_read_keeps_nothing_from_being_printed() {
    let mut folded = fold(&format!("{HEAD}20:10 Ines photographs it\n20:11 Ines photographs it\n"));
    let digests: Vec<_> = folded.documents.pictures.keys().copied().collect();
    let torn = [0xff, 0xd8, 0xff, 0xe0, 0, 16, b'J', b'F', b'I', b'F', 0, 1, 1, 0, 0, 1];
    folded.documents.pictures.insert(digests[0], torn.to_vec());
    for kind in [Kind::Night, Kind::Incident] {
        let pdf = kind.to_pdf(&request(&folded), "torn").expect("a page");
        check_sound(&pdf);
        if kind == Kind::Night {
            let text = text(&pdf);
            let said = text.matches("the picture in the bundle cannot be read").count();
            assert_eq!(said, 2, "{text}");
        }
    }
}

const HEAD: &str = "\
site: Gannet Quay
id: w-bad
date: 2026-03-02
watch: 20:00 to 21:00
gap hall: 30 min
people: Ines

20:00 Ines begins until 21:00
20:05 Ines sees hall
";

#[test]
fn a_photo_that_is_missing_stands_by_its_digest() {
    let mut folded = fold(&format!(
        "{HEAD}20:10 Ines finds exits in hall: Blocked\n20:11 Ines photographs it\n"
    ));
    let digest = *folded.documents.pictures.keys().next().expect("a photo");
    folded.documents.pictures.clear();
    let text = text(&night_pdf(&folded));
    assert!(text.contains("Photo, 20:11, Ines: the picture is not in this bundle"), "{text}");
    assert!(text.contains(&digest.to_string()), "{text}");
}

#[test]
fn a_kind_that_this_program_does_not_know_is_a_line_like_any_other() {
    let folded = fold(&format!("{HEAD}20:10 the phone of Ines holds something unknown\n"));
    let unknown = &folded.watch.about(folded.last_rx_ms.expect("lines")).unknown;
    assert_eq!(unknown.len(), 1, "{unknown:?}");
    let text = text(&night_pdf(&folded));
    assert!(text.contains(&unknown[0].kind), "{:?} is not in {text}", unknown[0].kind);
}

/// 500 rounds of two zones in a watch of five days and nights.
#[test]
fn five_hundred_rounds_are_counted_and_printed() {
    let mut night = String::from(
        "site: Gannet Quay\nid: w-500\ndate: 2026-03-02\nwatch: 08:00\n\
         gap hall: 15 min\ngap yard: 15 min\npeople: Ines\n\n08:00 Ines begins\n",
    );
    let clock = |minute: u32| format!("{:02}:{:02}", minute / 60 % 24, minute % 60);
    for round in 0..500u32 {
        let at = 8 * 60 + round * 14 + 1;
        for (more, what) in
            [(0, "begins a round"), (1, "sees hall"), (2, "sees yard"), (3, "ends the round")]
        {
            writeln!(night, "{} Ines {what}", clock(at + more)).expect("a string");
        }
    }
    let folded = fold(&night);
    let pdf = night_pdf(&folded);
    check_sound(&pdf);
    let pages = page_texts(&pdf);
    assert!(pages[0].contains("Rounds due: 500. On time: 500. Late: 0."), "{}", pages[0]);
    assert!(pages.len() > 20, "{} pages", pages.len());
}

#[test]
fn three_hundred_photos_are_all_there() {
    let mut night = HEAD.replace("21:00", "02:30");
    for n in 0..300u32 {
        let at = 20 * 60 + 10 + n;
        let clock = format!("{:02}:{:02}", at / 60 % 24, at % 60);
        writeln!(night, "{clock} Ines photographs it").expect("a string");
    }
    let mut folded = fold(&night);
    let digests: Vec<_> = folded.documents.pictures.keys().copied().collect();
    assert_eq!(digests.len(), 300);
    for (n, digest) in digests.iter().enumerate() {
        folded.documents.pictures.insert(*digest, png(24, n as u32 + 1));
    }
    let pdf = night_pdf(&folded);
    check_sound(&pdf);
    let text = text(&pdf);
    for digest in digests {
        assert!(text.contains(&digest.to_string()), "{digest} is not in the report");
    }
    assert!(!text.contains("the picture is not in this bundle"));
}

#[test]
fn a_log_sheet_from_a_record_that_did_not_verify_says_so_on_every_page() {
    let folded = fold(HEAD);
    let log_sheet = LogSheet {
        watch: &folded.watch,
        about_ms: folded.last_rx_ms.expect("lines"),
        span_ms: None,
        documents: &folded.documents,
        unaltered: Unaltered::Faults(2),
        filled: true,
        columns: &sheet::Columns::default(),
        lang: Lang::En,
        paper: Paper::A4,
    };
    let pages = page_texts(&log_sheet.to_pdf("faulty").expect("a page"));
    for page in &pages {
        assert!(page.contains("Not verified: 2 faults"), "{page}");
    }
}
