//! What is owed at an end, to the minute: tails, looks back, reports, notices, restorations.

use super::check;
use expect_test::{Expect, expect};

fn tail(head: &str, story: &str, expected: Expect) {
    let night = format!(
        "{head}
         gap hall: 4 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         {story}"
    );
    check("tail_short", &night, expected);
}

/// An hour is an hour: signed off in its last minute it was kept, a second before it was not.
#[test]
fn a_tail_signed_off_as_it_ends() {
    let ends = "17:30 Ines ends and signs";
    tail(
        "watch: 15:00 to 17:30",
        &format!("17:00:00 Ines closes the hot work\n{ends}"),
        expect![[r#"
            Kept hall 16:00-17:00 {"closed":true,"kept_s":3600,"owed_s":3600} on 16:00 17:00 sealed after 0 s [terms]
        "#]],
    );
    tail(
        "watch: 15:00 to 17:30",
        &format!("16:59:59 Ines closes the hot work\n{ends}"),
        expect![[r#"
            Broken hall 16:00-16:59 {"closed":true,"kept_s":3599,"owed_s":3600} on 16:00 16:59 sealed after 0 s [terms]
        "#]],
    );
}

/// Nobody left and nobody signed off: once its time has passed the tail was kept.
#[test]
fn a_tail_that_has_passed_was_kept() {
    tail(
        "watch: 15:00",
        "17:10 Ines sees hall",
        expect![[r#"
        Kept hall 16:00-17:00 {"closed":false,"kept_s":3600,"owed_s":3600} on 16:00 sealed after 0 s [terms]
    "#]],
    );
}

/// A look while the place was still watched is no look after the watch.
#[test]
fn a_look_back_before_the_tail_ended_is_none() {
    check(
        "look_back_missed",
        "watch: 15:00 to 20:00
         gap hall: 6 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         16:30 Ines looks back
         17:00 Ines looks back
         17:20 Ines looks back
         17:50 Ines closes the hot work
         18:00 Ines looks back
         20:00 Ines ends and signs",
        expect![[r#"
            Broken hall 17:20-17:50 {"every_s":1200,"unseen_s":1800} on 17:20 17:50 sealed after 0 s [terms]
        "#]],
    );
}

fn report(story: &str, expected: Expect) {
    let night = format!(
        "date: 2026-02-10
         watch: 20:00
         gap hall: 40 h
         owed delivery: 2 h
         20:00 Ines begins
         date: 2026-02-11
         20:05 Ines sees hall
         {story}"
    );
    check("delivery_late", &night, expected);
}

/// The watch ends at 23:00: a report that says nothing of what it covers and went out at 22:30 tells of the day that ended at
/// 20:00, and too late; the end it cannot tell of.
#[test]
fn a_report_from_before_the_end_is_not_the_ends() {
    report(
        "22:30 the desk sends the report
         23:00 the desk releases the watch by authority in writing
         23:01 Ines ends and signs
         date: 2026-02-12
         02:00 the desk notes: Archive closed",
        expect![[r#"
            Broken 20:00-22:30 {"after_s":9000,"day":1,"failed":0,"within_s":7200} on 22:30 sealed after 0 s [terms]
            Broken 23:00-02:02 {"after_s":null,"failed":0,"within_s":7200} on no line sealed after … [terms]
        "#]],
    );
}

/// Eight hours are not the day.
#[test]
fn a_report_on_part_of_the_day_is_not_the_days() {
    report(
        "20:30 the server sends report 1 of the shift, 12:00 to 20:00
         23:00 Ines sees hall",
        expect![[r#"
            Broken 20:00-23:02 {"after_s":null,"day":1,"failed":0,"within_s":7200} on no line sealed after … [terms]
        "#]],
    );
}

/// Until its time has passed no report is late, and the first that went out counts.
#[test]
fn a_report_has_until_its_last_minute() {
    let night = |story: &str| {
        format!(
            "watch: 20:00 to 06:00
             gap hall: 10 h
             owed delivery: 2 h
             20:00 Ines begins
             05:00 Ines sees hall
             06:00 Ines ends and signs
             {story}"
        )
    };
    check("delivery_late", &night("07:00 the desk notes: No report yet"), expect![[""]]);
    check(
        "delivery_late",
        &night("08:00:00 the desk sends the report\n09:00 the desk sends the report"),
        expect![[r#"
            Kept 06:00-08:00 {"after_s":7200,"failed":0,"within_s":7200} on 08:00 09:00 sealed after 0 s [terms]
        "#]],
    );
    check(
        "delivery_late",
        &night("08:00:01 the desk sends the report"),
        expect![[r#"
        Broken 06:00-08:00 {"after_s":7201,"failed":0,"within_s":7200} on 08:00 sealed after 0 s [terms]
    "#]],
    );
}

/// The first time a party was told counts, not the last.
#[test]
fn told_again_is_told_before() {
    check(
        "notice_owed",
        "watch: 20:00 to 23:30
         gap hall: 4 h
         owed notice: insurer within 2 h
         20:00 Ines begins
         21:00 the desk notifies the insurer by phone of fire-alarm
         23:00 the desk notifies the insurer by phone of fire-alarm
         23:30 Ines ends and signs",
        expect![[r#"
            Kept 20:00-21:00 {"after_s":3600,"party":"insurer","system":"fire_alarm","within_s":7200} on 19:55 21:00 sealed after 0 s [terms]
        "#]],
    );
}

/// Steps left undone are told as soon as the system is said to work; a watch without any outage has none.
#[test]
fn steps_of_a_restoration_while_the_watch_goes_on() {
    let night = |out: &str, story: &str| {
        format!(
            "watch: 20:00
             {out}
             gap hall: 4 h
             20:00 Ines begins
             {story}"
        )
    };
    check(
        "restoration_open",
        &night(
            "out: sprinkler",
            "21:00 the desk restores sprinkler with tested\n21:10 Ines sees hall",
        ),
        expect![[r#"
            Look 20:00-21:00 {"open":["supervisors_told","fire_service_told","others_told","tag_removed"],"restored":true,"system":"sprinkler"} on 19:55 21:00 sealed after 0 s [ours]
        "#]],
    );
    check("restoration_open", &night("out: sprinkler", "21:10 Ines sees hall"), expect![[""]]);
    check(
        "restoration_open",
        &night("out: none", "21:00 the desk releases the watch by authority in writing"),
        expect![[""]],
    );
}

/// The shortest gap of the zones seen in it is what a round has to keep.
#[test]
fn a_round_through_two_zones_has_the_shorter_gap() {
    check(
        "round_longer_than_gap",
        "watch: 20:00 to 21:00
         gap attic: 60 min
         gap hall: 20 min
         gap loft: 45 min
         20:00 Ines begins
         20:01 Ines begins a round
         20:02 Ines sees attic
         20:10 Ines sees hall
         20:20 Ines sees loft
         20:31 Ines ends the round
         21:00 Ines ends and signs",
        expect![[r#"
            Look hall 20:01-20:31 {"allowed_s":1200,"round":1,"took_s":1800,"who":"p-ines"} on 20:01 20:31 sealed after 0 s [house rule]
        "#]],
    );
}
