//! The card: what it may dial, and that every stamp becomes a line once.

use crate::desk::Desk;
use crate::{EIGHT_MS, enrolled, said, touch};
use phone::{CardStage, CardStamp, Page, Tap, What};

pub(crate) fn stamp(n: u64, stage: CardStage, at: i64) -> CardStamp {
    CardStamp { n, stage, at }
}

#[test]
fn smoke_chosen_anywhere_leads_to_the_card_first() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.tap(&mut desk, Tap::Open(Page::Class));
    touch(&mut ines, &mut desk, "class-fire");
    assert_eq!(ines.card_opened, 1);
    touch(&mut ines, &mut desk, "at-floor-5");
    assert_eq!(ines.view().name, "observation");
}

#[test]
fn the_card_has_the_address_and_the_number() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    let card = ines.card.unwrap();
    assert_eq!(card.number.as_deref(), Some("911"));
    let json = serde_json::to_string(&card.sentence).unwrap();
    assert!(json.contains("Fire at Gannet Hotel, 4 Quay Street, Port Gannet."), "{json}");
    assert!(json.contains("The alarm is out: this is the fire watch."), "{json}");
}

/// The site card of this demonstration holds a real number all the same.
#[test]
fn a_demonstration_can_dial_nothing() {
    let mut desk = Desk::open(EIGHT_MS, true);
    let ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    assert_eq!(ines.card.as_ref().unwrap().number, None);
    assert_eq!(ines.view().name, "begin");
}

#[test]
fn each_stamp_becomes_one_line_however_often_it_is_handed_in() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.wait_s(&mut desk, 60);
    touch(&mut ines, &mut desk, "i-am-here");
    let at = ines.wall_ms - 30_000;
    let stamps = vec![
        stamp(1, CardStage::Opened, at),
        stamp(2, CardStage::Seen, at + 1_000),
        stamp(3, CardStage::Called, at + 5_000),
    ];
    ines.happen(&mut desk, What::Stamps(stamps.clone()));
    ines.happen(&mut desk, What::Stamps(stamps.clone()));
    ines.start(&mut desk);
    ines.happen(&mut desk, What::Stamps(stamps));
    assert_eq!(ines.forgotten, 3);
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    let emergency = state.emergency().expect("it goes on");
    assert_eq!(emergency.stamps.len(), 3);
    assert_eq!(emergency.stamps[2].written.when.at_ms, at + 5_000);
    assert_eq!(emergency.stamps[1].zone.as_ref().unwrap().as_str(), "floor-5");
    assert!(said(&ines.view()).contains("Emergency since"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "emergency-over");
    assert!(!said(&ines.view()).contains("Emergency since"));
}

#[test]
fn a_drill_stays_one_until_somebody_says_that_this_is_real() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.tap(&mut desk, Tap::Open(Page::Settings));
    touch(&mut ines, &mut desk, "drill-begin");
    assert!(ines.card.as_ref().unwrap().drill);
    assert_eq!(ines.view().top.unwrap().band.unwrap(), "DRILL. Do not call.");
    ines.happen(&mut desk, What::Stamps(vec![stamp(1, CardStage::Seen, ines.wall_ms)]));
    ines.settle(&mut desk);
    assert!(desk.state_of_watch(ines.wall_ms).emergencies.iter().all(|e| e.drill));
    ines.happen(&mut desk, What::Stamps(vec![stamp(2, CardStage::Real, ines.wall_ms)]));
    assert!(!ines.card.as_ref().unwrap().drill);
    assert_eq!(ines.view().top.unwrap().band, None);
}

/// The static page's own words are those of the words file: it must read well when the app never ran.
#[test]
fn the_static_page_says_what_the_words_say() {
    let page = include_str!("../../../phone-web/static/card.html");
    for lang in phone::Lang::ALL {
        for words in [
            words::card::none_title(lang),
            words::card::none_call(lang),
            words::card::none_say(lang),
            words::card::order_shout(lang),
        ] {
            assert!(page.contains(words), "{words}");
        }
    }
}
