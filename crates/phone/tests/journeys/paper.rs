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
