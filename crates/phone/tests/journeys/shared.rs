//! One phone, several people: name, PIN, and a wait that grows.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, enrolled, said, touch};
use phone::{Field, Page, Tap};

fn types(phone: &mut Handset, desk: &mut Desk, pin: &str) {
    phone.tap(desk, Tap::Typed(Field::Pin, pin.to_owned()));
    touch(phone, desk, "pin-use");
}

fn asked(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, desk, "i-am-here");
    ines.tap(desk, Tap::Open(Page::Who));
    touch(&mut ines, desk, "holds-p-jon");
    types(&mut ines, desk, "4711");
    ines.tap(desk, Tap::Open(Page::Who));
    touch(&mut ines, desk, "holds-p-ines");
    types(&mut ines, desk, "20081");
    ines.tap(desk, Tap::Open(Page::Who));
    touch(&mut ines, desk, "holds-p-jon");
    ines
}

#[test]
fn wrong_pins_make_the_next_try_wait_longer_even_over_a_restart_and_a_moved_clock() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = asked(&mut desk);
    ines.radio = Radio::Off;
    for _ in 0..3 {
        types(&mut ines, &mut desk, "0000");
        assert!(said(&ines.view()).contains("That is another PIN"), "{}", said(&ines.view()));
    }
    assert!(said(&ines.view()).contains("Next try in 5 s"), "{}", said(&ines.view()));
    ines.tap(&mut desk, Tap::Pin(phone::PinTap::Use));
    assert!(said(&ines.view()).contains("Next try in"), "waiting takes no PIN");
    // The wall clock is moved on by an hour: the program that runs is not fooled.
    ines.clock_off_ms = 3_600_000;
    ines.wait_s(&mut desk, 1);
    assert!(said(&ines.view()).contains("Next try in 4 s"), "{}", said(&ines.view()));
    ines.clock_off_ms = 0;
    ines.wait_s(&mut desk, 5);
    types(&mut ines, &mut desk, "0000");
    assert!(said(&ines.view()).contains("Next try in 10 s"), "{}", said(&ines.view()));
    ines.start(&mut desk);
    ines.tap(&mut desk, Tap::Open(Page::Who));
    touch(&mut ines, &mut desk, "holds-p-jon");
    assert!(said(&ines.view()).contains("Next try in 10 s"), "{}", said(&ines.view()));
    ines.wait_s(&mut desk, 10);
    types(&mut ines, &mut desk, "4711");
    assert_ne!(ines.view().name, "pin", "the right one opens");
}

#[test]
fn a_pin_is_four_to_eight_digits_and_stands_nowhere_on_the_disk() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.tap(&mut desk, Tap::Open(Page::Who));
    touch(&mut ines, &mut desk, "holds-p-jon");
    for bad in ["123", "123456789", "12a4", ""] {
        types(&mut ines, &mut desk, bad);
        assert!(said(&ines.view()).contains("4 to 8 digits, nothing else"), "{bad:?}");
    }
    types(&mut ines, &mut desk, "73519264");
    let disk = format!("{:?}", ines.read());
    assert!(!disk.contains("73519264"), "kept in clear");
}

#[test]
fn what_is_written_after_the_right_pin_says_so() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = asked(&mut desk);
    types(&mut ines, &mut desk, "4711");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.settle(&mut desk);
    let jon = desk.kept.iter().rfind(|kept| kept.line.kind == "shift_began").unwrap();
    assert_eq!((jon.line.who.as_str(), jon.line.auth), ("p-jon", ledger::Auth::Pin));
    let ines_line = desk.kept.iter().find(|kept| kept.line.kind == "shift_began").unwrap();
    assert_eq!(ines_line.line.auth, ledger::Auth::Device);
}
