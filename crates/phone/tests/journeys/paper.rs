//! The paper ladder: a phone that is dying, the night going on by hand, and coming back on another.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, controls, enrolled, said, touch};
use phone::{Field, Page, Purpose, Tap, What};
use record::PaperWhy;

#[test]
fn a_dying_phone_leads_to_paper_and_a_second_one_takes_the_pages_along() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.happen(&mut desk, What::Battery(39));
    assert_eq!(ines.reminders.len(), 1, "said once at forty");
    assert!(said(&ines.view()).contains("Battery 39 %"), "{}", said(&ines.view()));
    ines.happen(&mut desk, What::Battery(18));
    assert_eq!(ines.reminders.len(), 2, "and once at twenty");
    touch(&mut ines, &mut desk, "paper");
    touch(&mut ines, &mut desk, "paper-told");
    touch(&mut ines, &mut desk, "paper-phone-dead");
    ines.tap(&mut desk, Tap::Typed(Field::AllowedBy, "Noor at the desk".to_owned()));
    touch(&mut ines, &mut desk, "paper-begin");
    assert_eq!(ines.view().name, "notepad");
    let copied = format!("{:?}", ines.view()).replace("\\u{a0}", " ");
    for must in ["Gannet Hotel, 4 Quay Street", "Floor 5 15 min", "911", "25 November 2026"] {
        assert!(copied.contains(must), "{must}: {copied}");
    }
    ines.settle(&mut desk);
    let allowed_ms = ines.wall_ms;

    // Dead at last. Fifty minutes later another phone, in the same hands.
    let mut second = Handset::new(5, allowed_ms + 50 * 60_000);
    desk.token("t-9", crate::named("p-ines", "Ines"));
    second.start(&mut desk);
    second.tap(&mut desk, Tap::Enrol("t-9".to_owned()));
    second.wait_s(&mut desk, 3);
    desk.confirm("t-9", second.wall_ms);
    second.settle(&mut desk);
    second.radio = Radio::Off;
    touch(&mut second, &mut desk, "on-paper");
    let says = said(&second.view());
    assert!(says.contains("On paper from 20:"), "the gap is named: {says}");
    second.photo(&mut desk, b"page 1", Purpose::Page);
    let page = second.photo(&mut desk, b"page 2", Purpose::Page);
    assert!(said(&second.view()).contains("2 pages are kept here"), "{}", said(&second.view()));
    touch(&mut second, &mut desk, "paper-done");
    assert!(!controls(&second.view()).iter().any(|control| control.id == "on-paper"));
    second.radio = Radio::On;
    second.settle(&mut desk);

    let state = desk.state_of_watch(second.wall_ms);
    assert_eq!(state.paper.allowed[0].why, PaperWhy::PhoneDead);
    assert_eq!(state.paper.handed_over[0].sheets, 2);
    assert!(state.paper.to_collect().is_none());
    assert_eq!(desk.blobs[&page], b"page 2");
    assert!(state.communications.iter().any(|told| told.reached));
    let names = desk.names_in("paper_allowed");
    assert_eq!(names["allowed_by"], "Noor at the desk");
}

/// Nobody could say anything before the battery died: the gap is named afterwards.
#[test]
fn a_phone_that_died_without_a_word_is_accounted_for_by_the_next() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.wait_s(&mut desk, 60);
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    ines.wait_s(&mut desk, 3_600);
    ines.start(&mut desk);
    ines.tap(&mut desk, Tap::Open(Page::PaperBack));
    assert!(said(&ines.view()).contains("On paper from 20:0"), "{}", said(&ines.view()));
    ines.tap(&mut desk, Tap::Typed(Field::Sheets, "3".to_owned()));
    touch(&mut ines, &mut desk, "paper-done");
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    assert_eq!(state.paper.allowed.len(), 1, "said late, and its time of entry shows it");
    assert_eq!(state.paper.handed_over[0].sheets, 3);
    assert!(state.notes.iter().any(|note| note.written.who.as_str() == "p-ines"));
}

/// What the reader makes of a page of this desk's watch (`docs/paper-sheet.md`): two rows from 20:30 on,
/// printed for Chicago, the first with one sure and one unsure box.
const PAGE: &str = r#"{"v":1,"kind":"sheet","code":"RWS1/A/W-QUAY/1/1/00000001/-360/x","watch":"w-quay","page":1,"of":1,
"boxes":[
{"row":1,"column":1,"zone":"floor-5","zone_digest":null,"window":{"from_ms":1795660200000,"until_ms":1795661100000,"says":"20:30–20:45"},"ticked":true,"unsure":false},
{"row":1,"column":2,"zone":"floor-6","zone_digest":null,"window":{"from_ms":1795660200000,"until_ms":1795661100000,"says":"20:30–20:45"},"ticked":true,"unsure":true},
{"row":2,"column":1,"zone":"floor-5","zone_digest":null,"window":{"from_ms":1795661100000,"until_ms":1795662000000,"says":"20:45–21:00"},"ticked":false,"unsure":false},
{"row":3,"column":1,"zone":null,"zone_digest":"ZONE7","window":{"from_ms":1795662000000,"until_ms":1795662900000,"says":"21:00–21:15"},"ticked":true,"unsure":false}],
"faults":[]}"#;

#[test]
fn a_sheet_is_read_on_the_phone_and_confirmed_row_by_row() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.wait_s(&mut desk, 7_200);
    ines.tap(&mut desk, Tap::Open(Page::Paper));
    for id in ["paper-phone-dead", "paper-begin"] {
        touch(&mut ines, &mut desk, id);
    }
    ines.radio = Radio::Off;
    ines.tap(&mut desk, Tap::Open(Page::PaperBack));
    let seventh = ledger::Digest::of(b"floor-7").to_string();
    ines.reader = Some(PAGE.replace("ZONE7", &seventh[..6]));
    let page = ines.photo(&mut desk, b"a sheet", Purpose::Page);
    ines.wait_s(&mut desk, 1);
    touch(&mut ines, &mut desk, "page-1");
    assert!(said(&ines.view()).contains("Row 1 20:30–20:45"), "{}", said(&ines.view()));
    // Nothing is kept without the time that stands on the page, or with one that has not come.
    touch(&mut ines, &mut desk, "sheet-right");
    assert!(said(&ines.view()).contains("Type the time"), "{}", said(&ines.view()));
    ines.tap(&mut desk, Tap::Typed(Field::Began, "23:59".to_owned()));
    touch(&mut ines, &mut desk, "sheet-right");
    assert!(said(&ines.view()).contains("has not come yet"), "{}", said(&ines.view()));
    // The unsure box is not ticked until somebody has looked; here it is one.
    touch(&mut ines, &mut desk, "tick-floor-6");
    ines.tap(&mut desk, Tap::Typed(Field::Began, "2031".to_owned()));
    touch(&mut ines, &mut desk, "sheet-right");
    // The row without ticks is not asked; the last one is left out.
    assert!(said(&ines.view()).contains("Row 3 21:00–21:15"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "sheet-out");
    assert!(said(&ines.view()).contains("2 lines are kept"), "{}", said(&ines.view()));
    // Again, the same rows: nothing is kept twice.
    touch(&mut ines, &mut desk, "sheet-done");
    touch(&mut ines, &mut desk, "page-1");
    touch(&mut ines, &mut desk, "tick-floor-6");
    ines.tap(&mut desk, Tap::Typed(Field::Began, "20:31".to_owned()));
    touch(&mut ines, &mut desk, "sheet-right");
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    let typed: Vec<_> = desk.kept.iter().filter(|k| k.line.kind == "transcribed").collect();
    assert_eq!(typed.len(), 2);
    for kept in typed {
        assert_eq!(kept.line.body["sheet"], page.to_string());
        assert_eq!(kept.line.body["states"], "seen");
        assert_eq!(kept.line.body["at_ms"], EIGHT_MS + 31 * 60_000);
    }
    let state = desk.state_of_watch(ines.wall_ms);
    assert_eq!(state.paper.typed.len(), 2);
}

#[test]
fn a_page_that_is_no_sheet_of_this_watch_says_so_and_offers_no_rows() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.tap(&mut desk, Tap::Open(Page::Paper));
    for id in ["paper-phone-dead", "paper-begin"] {
        touch(&mut ines, &mut desk, id);
    }
    let strange = r#"{"v":1,"kind":"sheet","code":"RWS1/A/W-MILL/1/1/1/0/x","page":1,"of":1,"boxes":[],"faults":[{"is":"other_watch","says":"Another watch's sheet."}]}"#;
    let notepad =
        r#"{"v":1,"kind":"notepad","code":null,"page":null,"of":null,"boxes":[],"faults":[]}"#;
    let cases = [
        (Some(strange), "Another watch's sheet."),
        (Some(notepad), "A notepad page"),
        (None, "could not be read here"),
        (Some("{"), "could not be read here"),
    ];
    for (n, (reader, says)) in cases.into_iter().enumerate() {
        ines.tap(&mut desk, Tap::Open(Page::PaperBack));
        ines.reader = reader.map(str::to_owned);
        ines.photo(&mut desk, format!("page {n}").as_bytes(), Purpose::Page);
        ines.wait_s(&mut desk, 1);
        touch(&mut ines, &mut desk, &format!("page-{}", n + 1));
        assert!(said(&ines.view()).contains(says), "{says}: {}", said(&ines.view()));
        touch(&mut ines, &mut desk, "sheet-done");
    }
    assert!(!desk.kept.iter().any(|kept| kept.line.kind == "transcribed"));
}
