//! People: cover, first rounds, observations, calls.

use super::{check, judged};
use crate::findings::Verdict;
use expect_test::expect;

#[test]
fn nobody_before_the_first_and_between_two_guards() {
    check(
        "cover_gap",
        "watch: 20:00 to 23:00
         gap hall: 60 min
         20:05 Ines begins
         20:10 Ines sees hall
         21:00 Ines sees hall
         21:30 Ines ends and signs
         21:42 Omar begins
         21:45 Omar sees hall
         22:40 Omar sees hall
         23:00 Omar ends and signs",
        expect![[r#"
            Broken 20:00-20:05 {"length_s":300,"owed":1,"people":0,"why":"not_begun"} on 20:05 sealed after … [terms]
            Broken 21:30-21:42 {"length_s":720,"owed":1,"people":0,"why":"no_relief"} on 21:30 21:42 sealed after … [terms]
        "#]],
    );
}

#[test]
fn two_people_where_two_are_owed() {
    check(
        "cover_gap",
        "watch: 20:00 to 21:00
         people at least: 2
         gap hall: 60 min
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines sees hall
         20:30 Omar takes a break
         20:45 Omar ends the break
         21:00 Ines ends and signs
         21:00 Omar ends and signs",
        expect![[r#"
            Broken 20:30-20:45 {"length_s":900,"owed":2,"people":1,"why":"break"} on 20:30 sealed after … [terms]
        "#]],
    );
}

#[test]
fn found_and_nothing_done() {
    let night = "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines finds exits in hall: Door chained
         20:11 Ines finds rubbish in hall: Full chute
         20:12 Ines does cleared
         20:14 Ines finds people in hall, note: Late cleaner
         21:00 Ines ends and signs
         21:00 the desk releases the watch by authority in writing";
    check(
        "observation_without_action",
        night,
        expect![[r#"
            Broken hall 20:10-21:00 {"class":"exits","open_s":3000,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [ours]
        "#]],
    );
    check(
        "observation_open_at_release",
        night,
        expect![[r#"
            Broken hall 20:10-21:00 {"class":"exits","open_s":3000,"reliefs":0,"severity":"this_round","told":false} on 20:10 21:00 sealed after 0 s [ours]
            Broken hall 20:11-21:00 {"class":"rubbish","open_s":2940,"reliefs":0,"severity":"this_shift","told":false} on 20:11 21:00 sealed after 0 s [ours]
        "#]],
    );
}

#[test]
fn an_open_observation_ages_over_the_relief() {
    check(
        "observation_open_at_release",
        "watch: 20:00 to 23:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines finds fire-doors in hall: Latch taped
         20:12 Ines tells the owner by phone about it
         20:50 Ines sees hall
         21:30 Ines offers relief
         21:30 Omar relieves Ines
         21:31 Ines ends and signs
         21:40 Omar sees hall
         22:30 Omar sees hall
         22:58 the desk releases the watch by authority in writing
         23:00 Omar ends and signs",
        expect![[r#"
            Broken hall 20:10-22:58 {"class":"fire_doors","open_s":10080,"reliefs":1,"severity":"this_round","told":true} on 20:10 22:58 sealed after 0 s [ours]
        "#]],
    );
}

#[test]
fn the_supervisor_before_the_fire_service_is_only_a_place_to_look() {
    check(
        "order_of_calls",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines sees fire in hall
         20:12 Ines tells the supervisor by phone
         20:19 Ines calls the fire service
         20:30 Ines sees the engine
         20:50 Ines says it is over
         21:00 Ines ends and signs",
        expect![[r#"
            Look 20:10-20:50 {"called":true,"seen_to_called_s":540,"told_before":["supervisor"]} on 20:10 20:19 20:30 20:50 20:12 sealed after 0 s [ours]
        "#]],
    );
}

/// An emergency that stops the rounds stops the first one too: 37 minutes do not count.
#[test]
fn an_emergency_stops_the_first_round() {
    let night = |first: &str| {
        format!(
            "watch: 20:00 to 22:00
             gap hall: 60 min
             first round: 15 min
             20:00 Ines begins
             20:03 Ines calls the fire service
             20:40 Ines sees the engine
             20:45 Ines says it is over
             {first} Ines sees hall
             22:00 Ines ends and signs"
        )
    };
    check(
        "first_round_late",
        &night("20:52"),
        expect![[r#"
            Kept 20:00-20:52 {"after_s":3120,"allowed_s":900,"who":"p-ines","why":null} on 20:00 20:52 sealed after 0 s [terms]
        "#]],
    );
    check(
        "first_round_late",
        &night("20:53"),
        expect![[r#"
            Broken 20:00-20:53 {"after_s":3180,"allowed_s":900,"who":"p-ines","why":null} on 20:00 20:53 sealed after 0 s [terms]
        "#]],
    );
}

/// Whether a round of a clock that was set back came in time cannot be told.
#[test]
fn a_first_round_of_a_clock_that_was_set_back_is_unclear() {
    check(
        "first_round_late",
        "watch: 20:00 to 22:00
         gap hall: 3 h
         first round: 15 min
         phone of Ines: offline 20:01 to 21:30
         20:00 Ines begins
         20:10 the phone of Ines is set back 20 min
         20:32 Ines sees hall
         22:00 Ines ends and signs",
        expect![[r#"
            Unclear 20:00-20:12 {"after_s":720,"allowed_s":900,"who":"p-ines","why":{"clock":{"offset_moved":{"by_ms":1200000}}}} on 20:00 20:12 sealed after 4680 s [terms]
        "#]],
    );
}

/// Less than a minute without anybody is looked at, a whole one is a breach; who asks for two says so.
#[test]
fn a_minute_of_the_cover_line() {
    let night = |begins: &str| {
        format!(
            "watch: 20:00 to 22:00
             gap hall: 4 h
             demand people: authority Order 26-118
             20:00 Ines begins
             21:00:00 Ines ends and signs
             {begins} Omar begins
             22:00 Omar ends and signs"
        )
    };
    check(
        "cover_gap",
        &night("21:00:59"),
        expect![[r#"
        Look 21:00-21:00 {"length_s":59,"owed":1,"people":0,"why":"no_relief"} on 21:00 21:00 sealed after … [Order 26-118]
    "#]],
    );
    check(
        "cover_gap",
        &night("21:01:00"),
        expect![[r#"
        Broken 21:00-21:01 {"length_s":60,"owed":1,"people":0,"why":"no_relief"} on 21:00 21:01 sealed after … [Order 26-118]
    "#]],
    );
}

/// Who covers a break and is on duty anyway is one person where two are owed; somebody who comes for it is the second.
#[test]
fn a_break_covered_by_the_other_of_two_leaves_one() {
    let night = |covers: &str| {
        format!(
            "watch: 20:00 to 21:00
             people: Ines, Omar, Jon
             people at least: 2
             gap hall: 60 min
             20:00 Ines begins
             20:00 Omar begins
             20:30 Omar takes a break, covered by {covers}
             20:45 Omar ends the break
             21:00 Ines ends and signs
             21:00 Omar ends and signs"
        )
    };
    check("cover_gap", &night("Jon"), expect![[""]]);
    check(
        "cover_gap",
        &night("Ines"),
        expect![[r#"
            Broken 20:30-20:45 {"length_s":900,"owed":2,"people":1,"why":"break"} on 20:30 sealed after … [terms]
        "#]],
    );
}

/// A phone whose clock was set back by 20 minutes ends its shift 20 minutes early by its own time: nobody can say that
/// the guard left.
#[test]
fn a_hole_that_rests_on_a_clock_that_was_set_back_is_unclear() {
    let night = "watch: 20:00 to 22:00
         gap hall: 120 min
         owed relief: yes
         phone of Ines: offline 20:05 to 23:00
         20:00 Ines begins
         20:30 Ines sees hall
         20:40 the phone of Ines is set back 20 min
         22:00 Ines ends and signs";
    let (_, findings) = judged(night);
    let of = |rule: &str| {
        let found = findings.iter().filter(|finding| finding.rule() == rule);
        found.map(|finding| finding.verdict).collect::<Vec<_>>()
    };
    assert_eq!(of("cover_gap"), [Verdict::Unclear]);
    assert_eq!(of("relief_missing"), [Verdict::Unclear]);
    // The same hole by a clock that is right is broken.
    let right = night
        .replace("20:40 the phone of Ines is set back 20 min\n", "")
        .replace("22:00 Ines ends", "21:40 Ines ends");
    let (_, findings) = judged(&right);
    let hole = findings.iter().find(|finding| finding.rule() == "cover_gap").expect("a hole");
    assert_eq!(hole.verdict, Verdict::Broken);
}
