//! How a phone becomes somebody's.

use crate::desk::{Desk, named};
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, enrolled, said};
use phone::Tap;

#[test]
fn phone_and_desk_show_the_same_six_digits() {
    let mut desk = Desk::open(EIGHT_MS, false);
    desk.token("t-1", named("p-ines", "Ines"));
    let mut phone = Handset::new(1, EIGHT_MS);
    phone.start(&mut desk);
    assert_eq!(phone.view().name, "enrol");
    phone.tap(&mut desk, Tap::Enrol("https://gannet.example/phone/#enrol=t-1".to_owned()));
    let shown = said(&phone.view());
    let code = desk.confirm("t-1", EIGHT_MS);
    assert!(shown.contains(&code), "{shown}");
    phone.wait_s(&mut desk, 3);
    phone.settle(&mut desk);
    assert_eq!(phone.view().name, "begin");
    assert!(said(&phone.view()).contains("You are at Gannet Hotel"));
    let first = &desk.kept.iter().find(|kept| kept.line.watch.is_org()).unwrap().line;
    assert_eq!((first.kind.as_str(), first.seq), ("enrolled", 0));
}

#[test]
fn a_token_used_on_another_phone_is_refused_in_words() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let _ = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    let mut phone = Handset::new(2, EIGHT_MS);
    phone.start(&mut desk);
    phone.tap(&mut desk, Tap::Enrol("t-9".to_owned()));
    phone.wait_s(&mut desk, 3);
    assert!(said(&phone.view()).contains("of no use any more"), "{}", said(&phone.view()));
}

/// The battery dies after every single step of an enrolment; started anew, it always ends well.
#[test]
fn an_enrolment_cut_anywhere_goes_on() {
    let mut died = 0;
    for dies_at in 0..40 {
        let mut desk = Desk::open(EIGHT_MS, false);
        desk.token("t-1", named("p-ines", "Ines"));
        let mut phone = Handset::new(1, EIGHT_MS);
        phone.start(&mut desk);
        phone.dies_at = Some(dies_at);
        phone.tap(&mut desk, Tap::Enrol("t-1".to_owned()));
        phone.wait_s(&mut desk, 3);
        if !phone.dead {
            break;
        }
        died += 1;
        phone.start(&mut desk);
        // Before the token was kept the link has to be opened again.
        phone.tap(&mut desk, Tap::Enrol("t-1".to_owned()));
        phone.wait_s(&mut desk, 3);
        phone.wait_s(&mut desk, 20);
        desk.confirm("t-1", phone.wall_ms);
        phone.settle(&mut desk);
        assert_eq!(phone.view().name, "begin", "died at {dies_at}");
    }
    assert!(died >= 3, "{died}");
}

#[test]
fn without_network_the_enrolment_waits_and_says_so() {
    let mut desk = Desk::open(EIGHT_MS, false);
    desk.token("t-1", named("p-ines", "Ines"));
    let mut phone = Handset::new(1, EIGHT_MS);
    phone.radio = Radio::Off;
    phone.start(&mut desk);
    phone.tap(&mut desk, Tap::Enrol("t-1".to_owned()));
    assert!(said(&phone.view()).contains("needs the network once"));
    phone.radio = Radio::On;
    phone.wait_s(&mut desk, 3);
    assert!(said(&phone.view()).contains("Read this to the desk"));
}
