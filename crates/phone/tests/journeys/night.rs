//! One night from "I am here" to the signature.

use crate::desk::Desk;
use crate::handset::Radio;
use crate::{EIGHT_MS, enrolled, said, sent, touch};
use phone::{Field, Page, Purpose, Tap};

/// Walks to the next stop, which takes so many seconds, and says "I am here".
fn stop(phone: &mut crate::handset::Handset, desk: &mut Desk, after_s: i64) {
    phone.wait_s(desk, after_s);
    touch(phone, desk, "i-am-here");
}

#[test]
fn a_night_with_the_network_off_for_most_of_it() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    assert_eq!(ines.view().name, "round");
    assert!(said(&ines.view()).contains("Stop 1 of 4"), "{}", said(&ines.view()));

    ines.tap(&mut desk, Tap::Open(Page::Instructions));
    touch(&mut ines, &mut desk, "instructions-read");
    ines.tap(&mut desk, Tap::Go(phone::Place::Round));
    stop(&mut ines, &mut desk, 60);
    assert!(said(&ines.view()).contains("Floor 5 seen"), "{}", said(&ines.view()));
    stop(&mut ines, &mut desk, 120);
    ines.wait_s(&mut desk, 11);
    assert_eq!(sent(&ines.view()), "All sent");
    let received = desk.kept.len();

    ines.radio = Radio::Off;
    stop(&mut ines, &mut desk, 120);
    assert_eq!(sent(&ines.view()), "1 waiting");
    stop(&mut ines, &mut desk, 120);
    assert!(said(&ines.view()).contains("Round 1 done"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "all-clear");
    stop(&mut ines, &mut desk, 300);

    // An observation in two touches, a photo, what was done, in words.
    touch_at(&mut ines, &mut desk, Tap::Go(phone::Place::Write));
    touch(&mut ines, &mut desk, "observe");
    touch(&mut ines, &mut desk, "class-exits");
    touch(&mut ines, &mut desk, "at-floor-5");
    assert_eq!(ines.view().name, "observation");
    let photo = ines.photo(&mut desk, b"a stair full of chairs", Purpose::Photo);
    touch(&mut ines, &mut desk, "done-cleared");
    touch(&mut ines, &mut desk, "done-keep");
    ines.tap(&mut desk, Tap::Typed(Field::Words, "Chairs in the stair".to_owned()));
    touch(&mut ines, &mut desk, "words-keep");

    // The next stop comes late.
    ines.tap(&mut desk, Tap::Go(phone::Place::Round));
    ines.wait_s(&mut desk, 900);
    let late = said(&ines.view());
    assert!(late.contains("over for Floor 6"), "{late}");
    assert!(late.contains("15 min allowed. Go now if it is safe."), "{late}");
    touch(&mut ines, &mut desk, "i-am-here");

    assert_eq!(desk.kept.len(), received, "nothing reached the desk");
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");
    assert_eq!(desk.blobs[&photo], b"a stair full of chairs");

    // The relief, on another phone, with the observation open.
    let mut jon = enrolled_later(&mut desk, &ines);
    ines.tap(&mut desk, Tap::Open(Page::Relief));
    touch(&mut ines, &mut desk, "offer");
    ines.settle(&mut desk);
    assert!(said(&ines.view()).contains("Nobody has taken over. Do not leave."));
    jon.wall_ms = ines.wall_ms;
    jon.settle(&mut desk);
    assert!(said(&jon.view()).contains("Ines hands over to you"), "{}", said(&jon.view()));
    touch(&mut jon, &mut desk, "take-over");
    jon.settle(&mut desk);
    assert_eq!(jon.view().name, "round");
    ines.wall_ms = jon.wall_ms;
    ines.settle(&mut desk);
    assert!(said(&ines.view()).contains("Jon has taken over"), "{}", said(&ines.view()));

    ines.tap(&mut desk, Tap::Open(Page::End));
    ines.photo(&mut desk, b"ines", Purpose::Signature);
    touch(&mut ines, &mut desk, "end-not-clear");
    ines.settle(&mut desk);
    assert_eq!(sent(&ines.view()), "All sent");

    let state = desk.state_of_watch(ines.wall_ms);
    let shift = state.shifts.iter().find(|shift| shift.who.as_str() == "p-ines").unwrap();
    assert_eq!((shift.all_clear, shift.rounds_stated), (Some(false), Some(2)));
    assert!(desk.blobs.contains_key(&shift.signature.unwrap()));
    let on_duty: Vec<_> = state.on_duty.iter().map(|duty| duty.who.as_str()).collect();
    assert_eq!(on_duty, ["p-jon"]);
    assert_eq!(state.observations.len(), 1);
    assert_eq!(state.observations[0].pictures.len(), 1);
    assert_eq!(state.observations[0].reliefs, 1);
    let floor_6 = state.zones.iter().find(|zone| zone.id.as_str() == "floor-6").unwrap();
    assert!(floor_6.gaps.iter().any(|gap| gap.to_ms - gap.from_ms > 900_000), "{floor_6:?}");
    assert!(
        state.devices.iter().all(|device| device.missing.is_empty() && device.forks.is_empty()),
        "{:?}",
        state.devices
    );
}

fn touch_at(phone: &mut crate::handset::Handset, desk: &mut Desk, tap: Tap) {
    phone.tap(desk, tap);
}

fn enrolled_later(desk: &mut Desk, other: &crate::handset::Handset) -> crate::handset::Handset {
    let mut jon = crate::handset::Handset::new(2, other.wall_ms);
    desk.token("t-2", crate::desk::named("p-jon", "Jon"));
    jon.start(desk);
    jon.tap(desk, Tap::Enrol("t-2".to_owned()));
    jon.wait_s(desk, 3);
    desk.confirm("t-2", jon.wall_ms);
    jon.settle(desk);
    jon
}

#[test]
fn what_was_said_can_be_taken_back_and_nothing_is_erased() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    stop(&mut ines, &mut desk, 30);
    assert!(said(&ines.view()).contains("Stop 2 of 4"));
    touch(&mut ines, &mut desk, "take-back");
    assert!(said(&ines.view()).contains("Stop 1 of 4"), "{}", said(&ines.view()));
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    assert_eq!(state.taken_back.len(), 1);
    stop(&mut ines, &mut desk, 30);
    ines.wait_s(&mut desk, 10);
    let view = ines.view();
    assert!(!crate::controls(&view).iter().any(|c| c.id == "take-back"), "after ten seconds");
}

#[test]
fn a_stop_that_cannot_be_entered_counts_as_not_seen() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    touch(&mut ines, &mut desk, "cannot-get-in");
    touch(&mut ines, &mut desk, "why-locked");
    assert!(said(&ines.view()).contains("Stop 2 of 4"), "{}", said(&ines.view()));
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    let zone = state.zones.iter().find(|zone| zone.id.as_str() == "floor-5").unwrap();
    assert_eq!((zone.looks.len(), zone.refused.len()), (0, 1));
}

#[test]
fn a_second_guard_takes_over_on_the_same_phone() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.tap(&mut desk, Tap::Open(Page::Relief));
    touch(&mut ines, &mut desk, "offer");
    touch(&mut ines, &mut desk, "takes-p-jon");
    assert_eq!(ines.view().name, "pin", "who takes over is asked for a PIN");
    ines.tap(&mut desk, Tap::Typed(Field::Pin, "4711".to_owned()));
    touch(&mut ines, &mut desk, "pin-use");
    assert_eq!(ines.view().name, "end", "the one who leaves signs");
    ines.tap(&mut desk, Tap::Typed(Field::Sign, "Ines".to_owned()));
    touch(&mut ines, &mut desk, "end-clear");
    ines.tap(&mut desk, Tap::Go(phone::Place::Round));
    assert_eq!(ines.view().name, "round", "{}", said(&ines.view()));
    stop(&mut ines, &mut desk, 60);
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    assert_eq!(state.on_duty[0].who.as_str(), "p-jon");
    let floor_5 = state.zones.iter().find(|zone| zone.id.as_str() == "floor-5").unwrap();
    assert_eq!(floor_5.looks[0].written.who.as_str(), "p-jon");
    // Only the minutes before the first shift began are a hole.
    let begun_ms = state.shifts[0].from_ms;
    assert!(
        state.cover.holes.iter().all(|hole| hole.until_ms <= begun_ms),
        "{:?}",
        state.cover.holes
    );
}

#[test]
fn one_reminder_for_each_due_time_and_none_in_an_emergency() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    for _ in 0..30 {
        ines.wait_s(&mut desk, 60);
    }
    assert_eq!(ines.reminders.len(), 1);
    let stamps = vec![crate::card::stamp(1, phone::CardStage::Seen, ines.wall_ms)];
    ines.happen(&mut desk, phone::What::Stamps(stamps));
    for _ in 0..60 {
        ines.wait_s(&mut desk, 60);
    }
    assert_eq!(ines.reminders.len(), 1);
}

#[test]
fn a_tag_is_read_and_a_foreign_one_is_named_as_such() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, &mut desk, "i-am-here");
    ines.happen(&mut desk, phone::What::Scanned("rattlewatch:stop/floor-7".to_owned()));
    assert!(said(&ines.view()).contains("Floor 7 seen 20:07, by tag"), "{}", said(&ines.view()));
    ines.happen(&mut desk, phone::What::Scanned("https://elsewhere.example/x".to_owned()));
    assert!(said(&ines.view()).contains("belongs to no stop of this site"));
}

/// A phone from another zone tells the site's time, as desk and paper do, and its lines its own.
#[test]
fn times_on_the_screen_are_the_sites() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = enrolled(&mut desk, 1, "p-ines", "Ines", "t-1");
    let told = "Times here are those of Chicago.";
    assert!(!said(&ines.view()).contains(told), "{}", said(&ines.view()));
    // Set to Lisbon's winter time; the place is in Chicago, six hours behind.
    (ines.tz_min, ines.site_tz_min) = (0, Some(-360));
    ines.wait_s(&mut desk, 1);
    assert!(said(&ines.view()).contains(told), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "i-am-here");
    stop(&mut ines, &mut desk, 60);
    let seen = said(&ines.view());
    assert!(seen.contains("Floor 5 seen 20:0"), "{seen}");
    let card = ines.card.clone().expect("the card was left");
    assert!(card.last.contains("20:0"), "{}", card.last);
    assert_eq!(card.zone.as_deref(), Some("America/Chicago"));
    assert_eq!(
        desk.kept.last().map(|kept| kept.line.clk.tz),
        Some(0),
        "what is signed says the phone's own"
    );
    touch_at(&mut ines, &mut desk, Tap::Go(phone::Place::Shift));
    let shift = said(&ines.view());
    assert!(shift.contains("On watch since 20:0") && shift.contains(told), "{shift}");
    // Nobody need be told where the two agree.
    ines.tz_min = -360;
    ines.wait_s(&mut desk, 1);
    assert!(!said(&ines.view()).contains(told), "{}", said(&ines.view()));
}
