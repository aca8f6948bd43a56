//! Hot work and its tail: over a relief, on two phones, begun anew, and without a number in any source.

use crate::desk::Desk;
use crate::handset::{Handset, Radio};
use crate::{EIGHT_MS, controls, enrolled, said, touch};
use phone::{Page, Place, Purpose, Tap};
use record::{Entry, PermitCheck};

const MIN_S: i64 = 60;

fn on_duty(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, desk, "i-am-here");
    ines
}

/// Reads a permit for floor 7 on the spot: watch 60 min, then looks over 60 min, 30 min apart.
fn reads_permit(phone: &mut Handset, desk: &mut Desk) {
    phone.tap(desk, Tap::Go(Place::Write));
    touch(phone, desk, "hot-work");
    touch(phone, desk, "permit-new");
    touch(phone, desk, "work-at-floor-7");
    for id in ["watch-60", "looks-60", "every-30", "check-clear35-ft", "check-watch-named"] {
        touch(phone, desk, id);
    }
    touch(phone, desk, "permit-keep");
    touch(phone, desk, "work-begins");
    assert_eq!(phone.view().name, "hot-work", "{}", said(&phone.view()));
    assert!(said(&phone.view()).contains("Stay at the work"), "{}", said(&phone.view()));
}

fn second_of(phone: &Handset, id: &str) -> Option<String> {
    let control = controls(&phone.view()).into_iter().find(|control| control.id == id)?;
    Some(
        format!("{}. {}", control.words, control.second.unwrap_or_default()).replace('\u{a0}', " "),
    )
}

#[test]
fn a_tail_goes_over_the_relief_and_looks_back_fall_to_whoever_walks() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    reads_permit(&mut ines, &mut desk);
    let permit = ines.photo(&mut desk, b"another page", Purpose::Photo);
    ines.wait_s(&mut desk, 20 * MIN_S);
    touch(&mut ines, &mut desk, "last-spark");
    let says = said(&ines.view());
    assert!(says.contains("60 min to stay, Floor 7"), "{says}");
    assert!(says.contains("over any relief"), "{says}");
    ines.wait_s(&mut desk, 30 * MIN_S);
    ines.settle(&mut desk);

    // The relief in the middle of the tail, on another phone.
    let mut jon = Handset::new(2, ines.wall_ms);
    desk.token("t-2", crate::named("p-jon", "Jon"));
    jon.start(&mut desk);
    jon.tap(&mut desk, Tap::Enrol("t-2".to_owned()));
    jon.wait_s(&mut desk, 3);
    desk.confirm("t-2", jon.wall_ms);
    ines.tap(&mut desk, Tap::Open(Page::Relief));
    touch(&mut ines, &mut desk, "offer");
    ines.settle(&mut desk);
    jon.wall_ms = ines.wall_ms;
    jon.settle(&mut desk);
    touch(&mut jon, &mut desk, "take-over");
    jon.radio = Radio::Off;
    let stay = second_of(&jon, "hot-0").expect("the tail stands on the next guard's round");
    assert!(stay.starts_with("Stay at the hot work: Floor 7. until 21:2"), "{stay}");

    // An hour after the last spark the looks begin, offline.
    jon.wait_s(&mut desk, 30 * MIN_S);
    let look = second_of(&jon, "hot-0").unwrap();
    assert!(look.starts_with("Look back: Floor 7. due in"), "{look}");
    for _ in 0..3 {
        jon.wait_s(&mut desk, 25 * MIN_S);
        jon.tap(&mut desk, Tap::Go(Place::Round));
        touch(&mut jon, &mut desk, "hot-0");
        if controls(&jon.view()).iter().any(|control| control.id == "look-clear") {
            touch(&mut jon, &mut desk, "look-clear");
        }
    }
    assert!(said(&jon.view()).contains("The time after the work is over"), "{}", said(&jon.view()));
    touch(&mut jon, &mut desk, "work-close");
    jon.radio = Radio::On;
    jon.settle(&mut desk);
    let state = desk.state_of_watch(jon.wall_ms);
    let work = &state.hot_work[0];
    assert!(work.surveyed && work.closed.is_some());
    assert!(work.looked_back.len() >= 2, "{work:?}");
    assert!(work.looked_back.iter().all(|look| look.written.who.as_str() == "p-jon"));
    let read = work.permit.as_ref().unwrap();
    assert!(read.checks[&PermitCheck::Clear35Ft] && !read.checks[&PermitCheck::DuctsClosed]);
    // A look at the place is a look at its zone too.
    let zone = state.zones.iter().find(|zone| zone.id.as_str() == "floor-7").unwrap();
    assert!(zone.looks.len() >= 4, "{zone:?}");
    assert!(desk.blobs.contains_key(&permit));
}

#[test]
fn work_that_goes_on_again_begins_the_tail_anew() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    reads_permit(&mut ines, &mut desk);
    touch(&mut ines, &mut desk, "last-spark");
    ines.wait_s(&mut desk, 50 * MIN_S);
    assert!(said(&ines.view()).contains("10 min to stay"), "{}", said(&ines.view()));
    touch(&mut ines, &mut desk, "work-again");
    assert!(said(&ines.view()).contains("Sparks since"), "{}", said(&ines.view()));
    ines.wait_s(&mut desk, 10 * MIN_S);
    // The last spark was five minutes before it is written.
    touch(&mut ines, &mut desk, "last-spark-5");
    let says = said(&ines.view());
    assert!(says.contains("55 min to stay"), "{says}");
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    assert_eq!(state.hot_work.len(), 1, "the same work, not a second one");
    assert!(state.hot_work[0].again.is_some());
}

#[test]
fn work_without_a_permit_is_stopped_and_its_tail_is_for_the_authority_to_say() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Go(Place::Write));
    touch(&mut ines, &mut desk, "hot-work");
    touch(&mut ines, &mut desk, "permit-new");
    touch(&mut ines, &mut desk, "work-at-floor-5");
    touch(&mut ines, &mut desk, "no-permit");
    let says = said(&ines.view());
    assert!(says.contains("Neither permit nor terms say how long to stay"), "{says}");
    assert!(says.contains("The authority decides"), "{says}");
    ines.settle(&mut desk);
    let state = desk.state_of_watch(ines.wall_ms);
    assert!(state.hot_work[0].stopped.is_some() && state.hot_work[0].last_spark.is_some());
    assert!(state.hot_work[0].permit.is_none());
}

#[test]
fn the_terms_of_the_watch_lengthen_a_shorter_permit() {
    let mut desk = Desk::open(EIGHT_MS, false);
    desk.terms_with_tail(EIGHT_MS, 7_200);
    let mut ines = on_duty(&mut desk);
    ines.settle(&mut desk);
    reads_permit(&mut ines, &mut desk);
    touch(&mut ines, &mut desk, "last-spark");
    let says = said(&ines.view());
    assert!(says.contains("120 min to stay"), "{says}");
}

#[test]
fn a_battery_that_dies_in_the_tail_takes_no_timer_with_it() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.settle(&mut desk);
    ines.radio = Radio::Off;
    reads_permit(&mut ines, &mut desk);
    touch(&mut ines, &mut desk, "last-spark");
    ines.wall_ms += 40 * MIN_S * 1000;
    ines.start(&mut desk);
    let stay = second_of(&ines, "hot-0").expect("the timer stands there after the restart");
    assert!(stay.contains("until"), "{stay}");
    touch(&mut ines, &mut desk, "hot-0");
    assert!(said(&ines.view()).contains("20 min to stay"), "{}", said(&ines.view()));
    ines.radio = Radio::On;
    ines.settle(&mut desk);
    let kinds = desk.kept.iter().filter_map(|kept| Entry::of(&kept.line).ok());
    assert_eq!(kinds.filter(|entry| matches!(entry, Entry::LastSpark(_))).count(), 1);
}
