//! Legs of told nights: which pairs of looks are a walk, and which are not.

use std::collections::BTreeMap;
use watch::{Leg, Legs, NoLeg};

/// The head of every night here: three stops on a hotel's ground, in zones of their own.
const HEAD: &str = "site: Gannet Hotel, 3 Harbour Row, Gannet
date: 2026-02-12
watch: 20:00 to 23:00
gap hall: 30 min
gap kitchen: 30 min
gap cellar: 30 min
out: fire-alarm
";

fn legs(story: &str) -> Legs {
    let record = night::tell(&format!("{HEAD}{story}")).unwrap_or_else(|fault| panic!("{fault}"));
    let watch = record.folded();
    watch.legs(&watch.about(record.end_ms))
}

/// Each leg as `from to seconds`.
fn said(legs: &Legs) -> Vec<String> {
    let leg = |leg: &Leg| format!("{} {} {}", leg.from, leg.to, leg.took_ms / 1000);
    legs.walked.iter().map(leg).collect()
}

fn left_out(legs: &Legs) -> Vec<(NoLeg, u64)> {
    legs.left_out.iter().map(|(why, count)| (*why, *count)).collect()
}

#[test]
fn looks_one_after_the_other_are_legs_of_known_length() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:04 Ines begins a round
20:04 Ines sees hall
20:07 Ines sees kitchen by hand
20:12:30 Ines sees cellar
20:14 Ines sees hall
20:15 Ines ends the round
",
    );
    assert_eq!(
        said(&legs),
        ["hall-1 kitchen-1 180", "kitchen-1 cellar-1 330", "cellar-1 hall-1 90"]
    );
    assert_eq!(legs.left_out, BTreeMap::new());
    assert!(legs.walked.iter().all(|leg| leg.plan.is_some() && leg.who == legs.walked[0].who));
}

#[test]
fn what_was_written_between_is_no_walk() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:03 Ines begins a round
20:04 Ines sees hall
20:07 Ines sees kitchen
20:08 Ines finds exits in kitchen: Back door held open with a crate
20:09 Ines does cleared
20:12 Ines sees cellar
20:15 Ines sees hall
20:16 Ines ends the round
20:17 Ines begins a round
20:19 Ines sees kitchen
",
    );
    assert_eq!(said(&legs), ["hall-1 kitchen-1 180", "cellar-1 hall-1 180"]);
    assert_eq!(left_out(&legs), [(NoLeg::Between, 2)]);
}

#[test]
fn what_is_said_later_to_have_happened_between_is_no_walk() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:03 Ines begins a round
20:04 Ines sees hall
20:10 Ines sees kitchen
20:14 Ines sees cellar
20:20 Ines finds exits in hall: Back door held open with a crate as of 20:06
",
    );
    assert_eq!(said(&legs), ["kitchen-1 cellar-1 240"]);
    assert_eq!(left_out(&legs), [(NoLeg::Between, 1)]);
}

#[test]
fn lines_told_later_or_taken_back_do_not_count() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:03 Ines begins a round
20:04 Ines sees hall
20:10 Ines sees kitchen
20:11 Ines corrects the time of the last line as of 20:08
20:14 Ines sees cellar
20:17 Ines sees hall
20:18 Ines takes back the last line
20:30 the desk hears by telephone from Ines, 20:25 kitchen
20:35 the desk types from paper of Ines, 20:29 cellar
20:40 Ines sees hall
20:43 Ines sees kitchen
",
    );
    assert_eq!(said(&legs), ["hall-1 kitchen-1 180"]);
    assert_eq!(left_out(&legs).iter().map(|(why, _)| *why).collect::<Vec<_>>(), [NoLeg::ToldLater]);
}

#[test]
fn breaks_and_other_duties_are_no_walk() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:04 Ines sees hall
20:05 Ines takes a break
20:15 Ines sees kitchen
20:19 Ines sees cellar
20:20 Ines ends the break
20:24 Ines sees hall
20:27 Ines sees kitchen
",
    );
    assert_eq!(said(&legs), ["hall-1 kitchen-1 180"]);
    assert_eq!(left_out(&legs), [(NoLeg::Between, 2), (NoLeg::Away, 1)]);
}

#[test]
fn a_drill_and_an_emergency_are_no_rounds() {
    let drill = legs(
        "
20:00 Ines begins until 23:00
20:01 Ines begins a drill
20:04 Ines sees hall
20:07 Ines sees kitchen
20:08 Ines ends the drill
20:11 Ines sees cellar
20:13 Ines sees hall
",
    );
    assert_eq!(said(&drill), ["cellar-1 hall-1 120"]);
    assert_eq!(left_out(&drill), [(NoLeg::Between, 1), (NoLeg::Away, 1)]);
    let fire = legs(
        "
20:00 Ines begins until 23:00
20:04 Ines sees hall
20:05 Ines calls the fire service
20:07 Ines sees kitchen
20:09 Ines sees cellar
20:20 Ines says it is over
20:25 Ines sees hall
20:28 Ines sees kitchen
",
    );
    assert_eq!(said(&fire), ["hall-1 kitchen-1 180"]);
    assert_eq!(left_out(&fire), [(NoLeg::Between, 2), (NoLeg::Away, 1)]);
}

#[test]
fn a_phone_that_was_started_anew_measures_nothing() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:04 Ines sees hall
20:07 Ines sees kitchen
20:08 the phone of Ines starts anew
20:12 Ines sees cellar
20:15 Ines sees hall
",
    );
    assert_eq!(said(&legs), ["hall-1 kitchen-1 180", "cellar-1 hall-1 180"]);
    assert_eq!(left_out(&legs), [(NoLeg::Clock, 1)]);
}

/// The clock is in doubt as far back as it was last compared with the server's.
#[test]
fn a_clock_that_was_set_back_measures_nothing() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:04 Ines sees hall
20:07 Ines sees kitchen
20:08 the phone of Ines is set back 2 min
20:12 Ines sees cellar
20:15 Ines sees hall
",
    );
    assert_eq!(said(&legs), ["cellar-1 hall-1 180"], "compared anew before both");
    assert_eq!(left_out(&legs), [(NoLeg::Clock, 2)]);
}

#[test]
fn two_guards_and_two_phones_are_kept_apart() {
    let legs = legs(
        "
20:00 Ines begins until 23:00
20:00 Omar begins until 23:00
20:04 Ines sees hall
20:05 Omar sees cellar
20:07 Ines sees kitchen
20:09 Omar sees hall
20:12 Ines sees cellar on the phone of Omar
20:15 Ines sees hall
20:19 Ines sees hall
",
    );
    assert_eq!(said(&legs), ["hall-1 kitchen-1 180", "cellar-1 hall-1 240"]);
    assert_eq!(left_out(&legs), [(NoLeg::TwoDevices, 2), (NoLeg::SameStop, 1)]);
}
