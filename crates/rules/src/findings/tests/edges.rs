//! Exactly at a limit, and one thing beside another: what a changed comparison would judge differently.

use super::check;
use expect_test::expect;

/// One of two people who are owed is too few for the cover line, and enough to stay at the place.
#[test]
fn one_of_two_stays_at_the_hot_work() {
    check(
        "tail_short",
        "watch: 15:00 to 18:00
         people at least: 2
         gap hall: 4 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         17:10 Ines closes the hot work
         18:00 Ines ends and signs",
        expect![[r#"
            Kept hall 16:00-17:10 {"closed":true,"kept_s":4200,"owed_s":3600} on 16:00 17:10 sealed after 0 s [terms]
        "#]],
    );
}

/// Nobody was on duty until the instant of the last spark: that shortens nothing after it.
#[test]
fn nobody_before_the_last_spark() {
    check(
        "tail_short",
        "watch: 15:00 to 18:00
         gap hall: 4 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min
         15:10 Ines notes hot work in hall
         15:50 Ines ends and signs
         16:00 Omar begins
         16:00 Omar sees the last spark
         17:10 Omar closes the hot work
         18:00 Omar ends and signs",
        expect![[r#"
            Kept hall 16:00-17:10 {"closed":true,"kept_s":4200,"owed_s":3600} on 16:00 17:10 sealed after 0 s [terms]
        "#]],
    );
}

/// The look at the end of the looks was the last that was owed.
#[test]
fn the_last_look_is_the_last_owed() {
    check(
        "look_back_missed",
        "watch: 15:00 to 20:00
         gap hall: 6 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         17:20 Ines looks back
         17:40 Ines looks back
         18:00 Ines looks back
         19:30 Ines closes the hot work without a survey
         20:00 Ines ends and signs",
        expect![[""]],
    );
}

/// A look by a phone whose clock was set back may lie in a gap between two looks of another phone.
#[test]
fn a_look_with_a_false_time_may_lie_in_the_gap() {
    check(
        "unseen_gap",
        "watch: 20:00 to 21:00
         people: Ines, Omar
         gap stair-b: 15 min
         phone of Ines: offline 20:05 to 20:25
         20:00 Omar begins
         20:00 Ines begins
         20:04 Omar sees stair-b
         20:10 the phone of Ines is set back 120 min
         20:20 Ines sees stair-b
         20:40 Omar sees stair-b
         20:54 Omar sees stair-b
         21:00 Omar ends and signs
         21:00 Ines ends and signs",
        expect![[r#"
            Unclear stair-b 20:04-20:40 {"allowed_s":900,"by_hand":false,"open":false,"over_s":1260,"stopped_s":0,"unseen_s":2160,"why":{"clock":{"offset_moved":{"by_ms":7200000}}}} on 20:04 20:40 sealed after 0 s [house rule]
        "#]],
    );
}

/// A shift that ended unsigned is found while the watch goes on; the one that goes on is not judged.
#[test]
fn an_unsigned_shift_of_a_watch_that_goes_on() {
    check(
        "content_missing",
        "watch: 20:00
         gap hall: 60 min
         owed signature: yes
         20:00 Ines begins
         20:10 Ines sees hall
         21:00 Ines ends without signing
         21:00 Omar begins
         21:05 Omar sees hall",
        expect![[r#"
            Broken 20:00-21:00 {"what":"signature","who":"p-ines"} on 20:00 21:00 sealed after 0 s [terms]
        "#]],
    );
}

/// Of two legs walked too fast the one that is furthest from its walk is named: 10 s for 125 s, not for 120 s.
#[test]
fn the_least_believable_leg_is_named() {
    check(
        "faster_than_walked",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         gap attic: 60 min
         gap cellar: 60 min
         route: hall-1, attic-1, cellar-1
         legs: 200 s, 120 s, 125 s
         20:00 Ines begins
         20:05 Ines begins a round
         20:06:00 Ines sees hall
         20:06:10 Ines sees attic
         20:06:20 Ines sees cellar
         20:20 Ines ends the round
         21:00 Ines ends and signs",
        expect![[r#"
            Look cellar 20:06-20:06 {"from":"attic-1","legs":2,"round":1,"to":"cellar-1","took_s":10,"walk_s":125,"who":"p-ines"} on 20:06 20:06 20:06 sealed after … [ours]
        "#]],
    );
}

/// A report that goes out at the very end is the report of this watch.
#[test]
fn a_report_at_the_very_end() {
    check(
        "delivery_late",
        "watch: 20:00 to 06:00
         gap hall: 10 h
         owed delivery: 2 h
         20:00 Ines begins
         05:00 Ines sees hall
         06:00 Ines ends and signs
         06:00 the desk sends the report",
        expect![[r#"
            Kept 06:00-06:00 {"after_s":0,"failed":0,"within_s":7200} on 06:00 sealed after 0 s [terms]
        "#]],
    );
}

/// What is found in the minute of the release is open at the release.
#[test]
fn found_in_the_minute_of_the_release() {
    check(
        "observation_open_at_release",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:50 Ines sees hall
         21:00 Ines finds exits in hall: Door chained
         21:00 the desk releases the watch by authority in writing
         21:01 Ines ends and signs",
        expect![[r#"
            Broken hall 21:00-21:00 {"class":"exits","open_s":0,"reliefs":0,"severity":"this_round","told":false} on 21:00 21:00 sealed after 0 s [ours]
        "#]],
    );
}

/// A phone whose shift ended has nothing left to tell about later gaps.
#[test]
fn the_phone_of_an_ended_shift_keeps_nothing_open() {
    check(
        "unseen_gap",
        "watch: 20:00
         gap hall: 30 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:40 Ines sees hall
         21:00 Ines ends and signs
         21:00 Omar begins
         21:25 Omar sees hall
         21:50 Omar sees hall",
        expect![[r#"
            Broken hall 20:40-21:25 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":900,"stopped_s":0,"unseen_s":2700,"why":null} on 20:40 21:25 sealed after 0 s [house rule]
        "#]],
    );
}

/// A phone without signal may hold a look: what is over is unclear until it has told.
#[test]
fn a_phone_that_is_not_heard_may_hold_a_look() {
    check(
        "unseen_gap",
        "watch: 20:00
         people: Ines, Omar
         gap hall: 30 min
         gap attic: 60 min
         phone of Ines: offline 20:15 to never
         20:00 Ines begins
         20:00 Omar begins
         20:10 Ines sees hall
         20:50 Omar sees attic
         21:00 Omar sees attic",
        expect![[r#"
            Unclear hall 20:10-21:02 {"allowed_s":1800,"by_hand":false,"open":true,"over_s":1320,"stopped_s":0,"unseen_s":3120,"why":{"not_heard":{"since_ms":1770754200000}}} on 20:10 sealed after 0 s [house rule]
            Kept attic 20:00-20:50 {"allowed_s":3600,"by_hand":false,"open":false,"over_s":-600,"stopped_s":0,"unseen_s":3000,"why":null} on 20:50 sealed after 0 s [house rule]
        "#]],
    );
}

/// The same for the cover line: whoever is not heard may have stood there.
#[test]
fn a_phone_that_is_not_heard_may_fill_the_cover() {
    check(
        "cover_gap",
        "watch: 20:00
         people: Ines, Omar
         people at least: 2
         gap hall: 60 min
         phone of Ines: offline 20:05 to never
         20:00 Ines begins
         20:30 Omar begins
         20:40 Omar sees hall
         20:50 Omar sees hall",
        expect![[r#"
            Unclear 20:00-20:30 {"length_s":1800,"owed":2,"people":1,"why":"too_few"} on 20:30 sealed after … [terms]
        "#]],
    );
}

/// Two phones that measured their clocks three hours ago are each off by up to a second and more: two seconds over decide nothing.
#[test]
fn two_seconds_over_are_within_the_clocks_error() {
    check(
        "unseen_gap",
        "watch: 20:00 to 23:15
         people: Ines, Omar
         gap hall: 4 h
         gap stair-b: 15 min
         phone of Ines: offline 20:00 to 23:30
         phone of Omar: offline 20:00 to 23:30
         20:00 Ines begins
         20:00 Omar begins
         20:01:00 Ines sees stair-b
         22:45:00 Ines sees stair-b
         23:00:02 Omar sees stair-b
         23:15:00 Ines ends and signs
         23:15:00 Omar ends and signs",
        expect![[r#"
            Broken stair-b 20:01-22:45 {"allowed_s":900,"by_hand":false,"open":false,"over_s":8940,"stopped_s":0,"unseen_s":9840,"why":null} on 20:01 22:45 sealed after 12540 s [house rule]
            Unclear stair-b 22:45-23:00 {"allowed_s":900,"by_hand":false,"open":false,"over_s":2,"stopped_s":0,"unseen_s":902,"why":{"within_error":{"error_s":3}}} on 22:45 23:00 sealed after 2700 s [house rule]
        "#]],
    );
}

/// Who leaves while another stays leaves no post.
#[test]
fn another_stays() {
    check(
        "relief_missing",
        "watch: 20:00 to 23:00
         gap hall: 4 h
         20:00 Ines begins
         20:00 Omar begins
         21:00 Ines ends and signs
         22:00 Omar sees hall
         23:00 Omar ends and signs",
        expect![[""]],
    );
}

/// The next begins in the instant in which the other ends.
#[test]
fn the_next_begins_as_the_other_ends() {
    check(
        "relief_missing",
        "watch: 20:00 to 23:00
         gap hall: 4 h
         20:00 Ines begins
         21:00 Ines ends and signs
         21:00 Omar begins
         22:00 Omar ends and signs
         22:00 Ines begins
         23:00 Ines ends and signs",
        expect![[""]],
    );
}

/// One minute is the shortest time that a post stands empty.
#[test]
fn a_minute_without_anybody() {
    check(
        "relief_missing",
        "watch: 20:00 to 23:00
         gap hall: 4 h
         20:00 Ines begins
         21:00 Ines ends and signs
         21:01 Omar begins
         23:00 Omar ends and signs",
        expect![[r#"
            Look 21:00-21:01 {"next":"p-omar","nobody_s":60,"who":"p-ines"} on 21:00 21:01 sealed after 0 s [ours]
        "#]],
    );
}

/// A first round begun in the last allowed minute is in time.
#[test]
fn a_first_round_in_the_last_minute() {
    check(
        "first_round_late",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         first round: 15 min
         20:00 Ines begins
         20:15 Ines begins a round
         20:20 Ines sees hall
         20:40 Ines ends the round
         21:00 Ines ends and signs",
        expect![[r#"
            Kept 20:00-20:15 {"after_s":900,"allowed_s":900,"who":"p-ines","why":null} on 20:00 20:15 sealed after 0 s [terms]
        "#]],
    );
}

/// A shift that ended within the time of its first round owed none; one in which none came is late.
#[test]
fn a_short_shift_owes_no_first_round() {
    check(
        "first_round_late",
        "watch: 20:00 to 22:00
         gap hall: 4 h
         first round: 15 min
         20:00 Ines begins
         20:15 Ines ends and signs
         20:15 Omar begins
         22:00 Omar ends and signs",
        expect![[r#"
            Broken 20:15-22:00 {"after_s":null,"allowed_s":900,"who":"p-omar","why":null} on 20:15 sealed after 0 s [terms]
        "#]],
    );
}

/// As long as its gap is not longer than its gap.
#[test]
fn a_round_as_long_as_its_gap() {
    check(
        "round_longer_than_gap",
        "watch: 20:00 to 21:00
         gap hall: 30 min
         20:00 Ines begins
         20:01 Ines begins a round
         20:02 Ines sees hall
         20:30 Ines sees hall
         20:31 Ines ends the round
         21:00 Ines ends and signs",
        expect![[""]],
    );
}

/// A report on the first day is no report on the end: that one is owed anew.
#[test]
fn the_first_days_report_is_not_the_last() {
    check(
        "delivery_late",
        "date: 2026-02-10
         watch: 20:00
         gap hall: 40 h
         owed delivery: 2 h
         20:00 Ines begins
         date: 2026-02-11
         20:05 Ines sees hall
         20:30 the desk sends the report
         21:00 the desk releases the watch by authority in writing
         21:01 Ines ends and signs
         23:30 the desk notes: Archive closed",
        expect![[r#"
            Broken 21:00-23:32 {"after_s":null,"failed":0,"within_s":7200} on no line sealed after … [terms]
            Kept 20:00-20:30 {"after_s":1800,"day":1,"failed":0,"within_s":7200} on 20:30 sealed after 0 s [terms]
        "#]],
    );
}

/// Round the end of the route it is 200 s from the last stop to the first, not 245: 68 s can be run.
#[test]
fn round_the_end_of_the_route() {
    check(
        "faster_than_walked",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         gap attic: 60 min
         gap cellar: 60 min
         route: hall-1, attic-1, cellar-1
         legs: 200 s, 120 s, 125 s
         20:00 Ines begins
         20:05 Ines begins a round
         20:06:00 Ines sees cellar
         20:07:08 Ines sees hall
         20:20 Ines ends the round
         21:00 Ines ends and signs",
        expect![[""]],
    );
}

/// While the tail still runs nothing is said of it.
#[test]
fn a_running_tail_is_not_judged() {
    check(
        "tail_short",
        "watch: 15:00
         gap hall: 4 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         16:20 Ines sees hall",
        expect![[""]],
    );
}

/// A minute apart is a walk.
#[test]
fn a_minute_between_two_places() {
    check(
        "two_places",
        "watch: 20:00 to 21:00
         people: Ines, Omar
         gap hall: 60 min
         gap attic: 60 min
         20:00 Ines begins
         20:10:00 Ines sees hall
         20:11:00 Ines sees attic on the phone of Omar
         21:00 Ines ends and signs",
        expect![[""]],
    );
}

/// What is typed from paper comes in one go by its nature.
#[test]
fn typed_from_paper_in_one_go() {
    check(
        "written_in_batch",
        "watch: 20:00 to 21:00
         gap a: 60 min
         gap b: 60 min
         gap c: 60 min
         gap d: 60 min
         gap e: 60 min
         20:00 Ines begins
         22:00:00 the desk types from paper of Ines, 20:10 a
         22:00:02 the desk types from paper of Ines, 20:12 b
         22:00:04 the desk types from paper of Ines, 20:14 c
         22:00:06 the desk types from paper of Ines, 20:16 d
         22:00:08 the desk types from paper of Ines, 20:18 e",
        expect![[""]],
    );
}

/// A first round that a silent phone may hold is unclear, not late.
#[test]
fn a_first_round_on_a_phone_that_is_not_heard() {
    check(
        "first_round_late",
        "watch: 20:00
         people: Ines, Omar
         gap hall: 4 h
         first round: 15 min
         phone of Ines: offline 20:05 to never
         20:00 Ines begins
         20:00 Omar begins
         20:10 Omar sees hall
         21:00 Omar sees hall",
        expect![[r#"
            Unclear 20:00-21:02 {"after_s":null,"allowed_s":900,"who":"p-ines","why":{"not_heard":{"since_ms":1770753600000}}} on 20:00 sealed after 0 s [terms]
            Kept 20:00-20:10 {"after_s":600,"allowed_s":900,"who":"p-omar","why":null} on 20:00 20:10 sealed after 0 s [terms]
        "#]],
    );
}

/// Told an hour after it was known where two are allowed.
#[test]
fn told_within_the_time() {
    check(
        "notice_owed",
        "watch: 20:00 to 22:00
         gap hall: 4 h
         owed notice: insurer within 2 h
         20:00 Ines begins
         21:00 the desk notifies the insurer by phone of fire-alarm
         22:00 Ines ends and signs",
        expect![[r#"
            Kept 20:00-21:00 {"after_s":3600,"party":"insurer","system":"fire_alarm","within_s":7200} on 19:55 21:00 sealed after 0 s [terms]
        "#]],
    );
}

/// A gap that rests on paper says so.
#[test]
fn a_gap_between_looks_on_paper() {
    check(
        "unseen_gap",
        "watch: 20:00 to 21:00
         gap hall: 40 min
         20:00 Ines begins
         20:59 Ines ends and signs
         22:00 the desk types from paper of Ines, 20:10 hall
         22:00 the desk types from paper of Ines, 20:45 hall",
        expect![[r#"
            Kept hall 20:10-20:45 {"allowed_s":2400,"by_hand":true,"open":false,"over_s":-300,"stopped_s":0,"unseen_s":2100,"why":null} on 22:00 22:00 sealed after 0 s [house rule]
        "#]],
    );
}

/// The second day lasted an hour: one report after it tells of the first day and of the end, each in its time.
#[test]
fn one_report_of_the_last_day_and_the_end() {
    check(
        "delivery_late",
        "date: 2026-02-10
         watch: 20:00
         gap hall: 40 h
         owed delivery: 2 h
         20:00 Ines begins
         date: 2026-02-11
         20:05 Ines sees hall
         21:00 the desk releases the watch by authority in writing
         21:01 Ines ends and signs
         21:30 the desk sends the report
         23:30 the desk notes: Archive closed",
        expect![[r#"
            Kept 20:00-21:30 {"after_s":5400,"day":1,"failed":0,"within_s":7200} on 21:30 sealed after 0 s [terms]
            Kept 21:00-21:30 {"after_s":1800,"failed":0,"within_s":7200} on 21:30 sealed after 0 s [terms]
        "#]],
    );
}

/// What a report covers is said by its line: the first shift's is none on the night, whenever it went out.
#[test]
fn a_shifts_report_is_not_the_watchs() {
    let night = |sent: &str| {
        format!(
            "watch: 20:00 to 06:00
             gap hall: 10 h
             owed delivery: 2 h
             20:00 Ines begins
             00:00 Ines sees hall
             01:00 Ines ends and signs
             01:00 Jon begins
             {sent}
             06:00 Jon ends and signs
             09:00 the desk notes: Archive closed"
        )
    };
    for sent in [
        "01:05 the server sends report 1 of the shift, 20:00 to 01:00",
        "01:05 the desk sends the report",
    ] {
        check(
            "delivery_late",
            &night(sent),
            expect![[r#"
            Broken 06:00-09:02 {"after_s":null,"failed":0,"within_s":7200} on no line sealed after … [terms]
        "#]],
        );
    }
    check(
        "delivery_late",
        &night("").replace(
            "09:00 the desk notes",
            "06:30 the server sends report 1 of the watch, 20:00 to 06:00\n             09:00 the desk notes",
        ),
        expect![[r#"
            Kept 06:00-06:30 {"after_s":1800,"failed":0,"within_s":7200} on 06:30 sealed after 0 s [terms]
        "#]],
    );
}
