//! A night kept half on the phone and half on a notepad comes out as one honest report: nothing is
//! missing, and every line from paper says so, with both times, its picture, its writer and who typed.

#[expect(dead_code, reason = "the other papers ask more of the outside programs")]
mod outside;
mod told;

use outside::text;
use report::{Folded, Kind, LogSheet, Paper, Unaltered, compose};
use told::fold;
use words::Lang;

const NIGHT: &str = include_str!("../../../fixtures/nights/half-on-paper.night");

fn folded() -> Folded {
    fold(NIGHT)
}

#[test]
fn phone_and_paper_make_one_report_and_paper_says_so() {
    let folded = folded();
    let sheet = compose(&folded.whole());
    let is_paper = |row: &&report::sheets::LogRow| {
        row.what.marks.iter().any(|mark| mark.starts_with("from paper"))
    };
    let paper = sheet.log.rows.iter().filter(is_paper).count();
    let typed = NIGHT.lines().filter(|line| line.contains("types from paper")).count();
    assert_eq!((paper, typed), (14, 14), "every typed line is marked, and no other");
    for row in sheet.log.rows.iter().filter(is_paper) {
        assert!(row.what.marks.iter().any(|mark| mark.contains("later")), "{row:?}");
        assert!(row.written.starts_with("06:3"), "{row:?}");
        assert_eq!(row.who, "Ines", "the writer, not who typed");
        let picture = row.what.marks.iter().find(|mark| mark.contains("picture"));
        let picture = picture.unwrap_or_else(|| panic!("{row:?} names no picture"));
        assert!(picture.contains("typed by"), "{picture}");
    }
    let wedged = sheet.log.rows.iter().find(|row| row.what.words.join(" ").contains("linen room"));
    assert_eq!(wedged.expect("the notepad's finding").happened, "22:51");
    // 15 min owed on the guest floor all night: the notepad's looks close what the phone left open.
    let guest = sheet.zones.iter().find(|zone| zone.name == "Guest floor").expect("a zone");
    assert_eq!((guest.longest.as_str(), guest.over.as_deref()), ("14\u{a0}min", None));
    let page = text(&Kind::Night.to_pdf(&folded.whole(), "half").expect("a page"));
    assert!(page.contains("14 of these lines come from paper"), "page one says it: {page}");
}

#[test]
fn the_sheet_filled_from_the_record_marks_what_was_told_later() {
    let folded = folded();
    let log_sheet = LogSheet {
        watch: &folded.watch,
        about_ms: folded.last_rx_ms.expect("lines"),
        span_ms: None,
        documents: &folded.documents,
        unaltered: Unaltered::Checked,
        filled: true,
        columns: &sheet::Columns::default(),
        lang: Lang::En,
        paper: Paper::A4,
    };
    let pages = log_sheet.pages();
    let texts: Vec<&str> = pages
        .iter()
        .flat_map(|page| &page.items)
        .filter_map(|item| match item {
            sheet::Item::Text { text, .. } => Some(text.as_str()),
            _ => None,
        })
        .collect();
    let later = texts.iter().filter(|text| text.ends_with("told later")).count();
    // 22:00 to 00:00 in quarters of an hour.
    assert_eq!(later, 8, "{texts:?}");
    assert!(texts.iter().any(|text| text.contains("linen room")), "{texts:?}");
    assert!(log_sheet.to_pdf("test").expect("a page").starts_with(b"%PDF-1.7"));
    assert_eq!(log_sheet.to_pdf("test").unwrap(), log_sheet.to_pdf("test").unwrap());
}
