//! How often a phone asks its desk: each question wakes the radio, and the battery has to last for the night.

use crate::card::stamp;
use crate::desk::Desk;
use crate::handset::Handset;
use crate::{EIGHT_MS, enrolled, touch};
use phone::{CardStage, Field, Place, Tap, What};
use record::{Answered, Note};

/// The longest silence that the desk may meet, s: it says *not heard from* after 120 s.
const LONGEST_S: i64 = 61;

/// Lets seconds go by one at a time, as the screen ticks. How often the desk was asked, and the longest wait, s.
fn quiet(phone: &mut Handset, desk: &mut Desk, seconds: i64) -> (usize, i64) {
    ticking(phone, desk, seconds, 1)
}

/// As [`quiet`], with a tick every so many seconds.
fn ticking(phone: &mut Handset, desk: &mut Desk, seconds: i64, tick_s: i64) -> (usize, i64) {
    let (before, mut waited_s, mut longest_s) = (phone.brought.len(), 0, 0);
    for _ in 0..seconds / tick_s {
        let so_far = phone.brought.len();
        phone.wait_s(desk, tick_s);
        waited_s = if phone.brought.len() > so_far { 0 } else { waited_s + tick_s };
        longest_s = longest_s.max(waited_s);
    }
    (phone.brought.len() - before, longest_s)
}

fn on_duty(desk: &mut Desk) -> Handset {
    let mut ines = enrolled(desk, 1, "p-ines", "Ines", "t-1");
    touch(&mut ines, desk, "i-am-here");
    ines
}

#[test]
fn a_phone_that_nobody_touches_asks_once_a_minute_and_is_never_out_of_touch() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    let (while_looked_at, longest_s) = quiet(&mut ines, &mut desk, 60);
    assert!((5..=8).contains(&while_looked_at) && longest_s <= 10, "{while_looked_at}");
    let (asked, longest_s) = quiet(&mut ines, &mut desk, 3_600);
    assert!((60..=70).contains(&asked), "{asked} in an hour");
    assert!(longest_s <= LONGEST_S, "{longest_s} s");
    // A touch asks at once, and so does a screen that is lit or a network that is back.
    let before = ines.brought.len();
    ines.tap(&mut desk, Tap::Go(Place::Write));
    assert_eq!(ines.brought.len(), before + 1);
    quiet(&mut ines, &mut desk, 600);
    let before = ines.brought.len();
    ines.happen(&mut desk, What::Woke);
    assert_eq!(ines.brought.len(), before + 1);
    let (asked, _) = quiet(&mut ines, &mut desk, 60);
    assert!((5..=7).contains(&asked), "{asked} in the minute after");
}

#[test]
fn what_the_desk_writes_is_there_within_a_minute_and_more_of_it_sooner() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    quiet(&mut ines, &mut desk, 1_803);
    let line = desk.state(ines.wall_ms, Note { of: None }.into());
    assert!(!ines.disk.lines.contains_key(&line));
    let waited = (0..LONGEST_S).find(|_| {
        quiet(&mut ines, &mut desk, 1);
        ines.disk.lines.contains_key(&line)
    });
    assert!(waited.is_some(), "within a minute");
    // After 10 s, and 20 s later: news seldom come alone.
    assert_eq!(quiet(&mut ines, &mut desk, 31).0, 2);
}

#[test]
fn an_open_question_and_an_emergency_keep_the_phone_asking_every_ten_seconds() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    ines.tap(&mut desk, Tap::Typed(Field::Question, "Is the pump room open?".to_owned()));
    ines.tap(&mut desk, Tap::SendQuestion);
    quiet(&mut ines, &mut desk, 600);
    let (asked, longest_s) = quiet(&mut ines, &mut desk, 300);
    assert!((28..=32).contains(&asked) && longest_s <= 10, "{asked}, {longest_s} s");
    let question = desk.kept.iter().find(|kept| kept.line.kind == "asked").unwrap().line.id();
    desk.state(ines.wall_ms, Answered { of: question }.into());
    quiet(&mut ines, &mut desk, 300);
    let (asked, _) = quiet(&mut ines, &mut desk, 300);
    assert!((5..=6).contains(&asked), "answered: {asked}");

    ines.happen(&mut desk, What::Stamps(vec![stamp(1, CardStage::Seen, ines.wall_ms)]));
    quiet(&mut ines, &mut desk, 600);
    let (asked, _) = quiet(&mut ines, &mut desk, 300);
    assert!((28..=32).contains(&asked), "{asked} in an emergency");
}

/// Twelve hours with a round of four stops every fifteen minutes: how often the radio is woken. Every ten seconds
/// would be 4,320 times.
#[test]
fn twelve_hours_wake_the_radio_less_than_half_as_often_as_every_ten_seconds() {
    let mut desk = Desk::open(EIGHT_MS, false);
    let mut ines = on_duty(&mut desk);
    let (mut asked, mut longest_s) = (0, 0);
    for _ in 0..48 {
        for wait_s in [570, 60, 60, 60] {
            touch(&mut ines, &mut desk, "i-am-here");
            let (more, waited_s) = ticking(&mut ines, &mut desk, wait_s, 5);
            (asked, longest_s) = (asked + more, longest_s.max(waited_s));
        }
        touch(&mut ines, &mut desk, "all-clear");
        let (more, waited_s) = ticking(&mut ines, &mut desk, 150, 5);
        (asked, longest_s) = (asked + more, longest_s.max(waited_s));
    }
    println!("{asked} questions in twelve hours, {longest_s} s apart at most");
    assert!(asked < 4_320 / 2, "{asked}");
    assert!(longest_s <= LONGEST_S, "{longest_s} s");
    assert_eq!(desk.kept.iter().filter(|kept| kept.line.kind == "seen").count(), 48 * 4);
}
