//! People: cover, first rounds, observations, calls.

use super::check;
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
            Broken 20:00-20:05 {"length_s":300,"owed":1,"people":0,"why":"not_begun"} sealed after … [terms]
            Broken 21:30-21:42 {"length_s":720,"owed":1,"people":0,"why":"no_relief"} sealed after … [terms]
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
            Broken 20:30-20:45 {"length_s":900,"owed":2,"people":1,"why":"break"} sealed after … [terms]
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
        Broken hall 20:10-21:00 {"class":"exits","open_s":3000,"reliefs":0,"severity":"this_round"} sealed after 0 s [ours]
    "#]],
    );
    check(
        "observation_open_at_release",
        night,
        expect![[r#"
        Broken hall 20:10-21:00 {"class":"exits","open_s":3000,"reliefs":0,"severity":"this_round","told":false} sealed after 0 s [ours]
        Broken hall 20:11-21:00 {"class":"rubbish","open_s":2940,"reliefs":0,"severity":"this_shift","told":false} sealed after 0 s [ours]
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
            Broken hall 20:10-22:58 {"class":"fire_doors","open_s":10080,"reliefs":1,"severity":"this_round","told":true} sealed after 0 s [ours]
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
            Look 20:10-20:50 {"called":true,"seen_to_called_s":540,"told_before":["supervisor"]} sealed after 0 s [ours]
        "#]],
    );
}
