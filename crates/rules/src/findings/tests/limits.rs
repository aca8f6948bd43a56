//! What a demand stops at: told of another system, told in the last minute, not yet over, not owed at all.

use super::check;
use expect_test::{Expect, expect};

/// Both leave in one instant: neither of them stayed for the other.
#[test]
fn two_who_leave_together_leave_the_post() {
    check(
        "relief_missing",
        "watch: 20:00 to 23:00
         gap hall: 4 h
         owed relief: yes
         20:00 Ines begins
         20:00 Omar begins
         21:00 Ines ends and signs
         21:00 Omar ends and signs
         21:20 Ana begins
         23:00 Ana ends and signs",
        expect![[r#"
            Broken 21:00-21:20 {"next":"p-ana","nobody_s":1200,"who":"p-omar"} on 21:00 21:20 sealed after 0 s [terms]
            Broken 21:00-21:20 {"next":"p-ana","nobody_s":1200,"who":"p-ines"} on 21:00 21:20 sealed after 0 s [terms]
        "#]],
    );
}

fn notice(owed: &str, until: &str, story: &str, expected: Expect) {
    let night = format!(
        "watch: 20:00{until}
         gap hall: 6 h
         owed notice: {owed}
         20:00 Ines begins
         {story}"
    );
    check("notice_owed", &night, expected);
}

/// Told in the last allowed second; of another system; only of the end.
#[test]
fn of_what_a_party_was_told_and_when() {
    let told =
        |time: &str, of: &str| format!("{time} the desk notifies the insurer by phone of {of}");
    notice(
        "insurer within 2 h",
        " to 23:00",
        &told("22:00", "fire-alarm"),
        expect![[r#"
        Kept 20:00-22:00 {"after_s":7200,"party":"insurer","system":"fire_alarm","within_s":7200} on 19:55 22:00 sealed after 0 s [terms]
    "#]],
    );
    notice(
        "insurer within 2 h",
        " to 23:00",
        &told("20:30", "sprinkler"),
        expect![[r#"
        Look 20:00-20:32 {"after_s":null,"party":"insurer","system":"fire_alarm","within_s":7200} on 19:55 sealed after 0 s [terms]
    "#]],
    );
    notice(
        "insurer within 2 h",
        "",
        &told("20:30", "the end of fire-alarm"),
        expect![[r#"
        Look 20:00-20:32 {"after_s":null,"party":"insurer","system":"fire_alarm","within_s":7200} on 19:55 sealed after 0 s [terms]
    "#]],
    );
    notice(
        "owner within 10 min",
        "",
        &told("20:30", "fire-alarm"),
        expect![[r#"
        Broken 20:00-20:32 {"after_s":null,"party":"owner","system":"fire_alarm","within_s":600} on 19:55 sealed after 0 s [terms]
    "#]],
    );
}

/// Where no source states a number a party must be told at once: looked at while the watch goes on, owed at its end.
#[test]
fn told_at_once_or_not_at_all() {
    notice(
        "insurer",
        "",
        "20:30 Ines sees hall",
        expect![[r#"
        Look 20:00-20:32 {"after_s":null,"party":"insurer","system":"fire_alarm","within_s":null} on 19:55 sealed after 0 s [terms]
    "#]],
    );
    notice(
        "insurer",
        "",
        "20:30 the desk releases the watch by authority in writing",
        expect![[r#"
            Broken 20:00-20:30 {"after_s":null,"party":"insurer","system":"fire_alarm","within_s":null} on 19:55 sealed after 0 s [terms]
        "#]],
    );
}

/// What is still out is open once the watch was released, and no sooner; without a source it is for somebody to look at.
#[test]
fn still_out_at_the_release() {
    let night = |source: &str, end: &str| {
        format!(
            "watch: 20:00
             gap hall: 6 h
             {source}
             20:00 Ines begins
             20:30 Ines sees hall
             {end}"
        )
    };
    let release = "21:00 the desk releases the watch by authority in writing";
    let source = "demand restoration: code IFC 2018 901.7.6";
    check(
        "restoration_open",
        &night(source, release),
        expect![[r#"
        Broken 20:00-21:00 {"open":["tested","supervisors_told","fire_service_told","others_told","tag_removed"],"restored":false,"system":"fire_alarm"} on 19:55 sealed after 0 s [IFC 2018 901.7.6]
    "#]],
    );
    check(
        "restoration_open",
        &night("seed: 2", release),
        expect![[r#"
        Look 20:00-21:00 {"open":["tested","supervisors_told","fire_service_told","others_told","tag_removed"],"restored":false,"system":"fire_alarm"} on 19:55 sealed after 0 s [ours]
    "#]],
    );
    check("restoration_open", &night(source, "21:00 Ines sees hall"), expect![[""]]);
    let whole = "21:00 the desk restores fire-alarm with every step";
    check("restoration_open", &night(source, whole), expect![[""]]);
}

/// Whoever may end it, and where nobody is named.
#[test]
fn ended_by_whoever_may() {
    let night = |owed: &str| {
        format!(
            "watch: 20:00
             gap hall: 6 h
             {owed}
             demand release_by: code IFC 2018 901.7
             20:00 Ines begins
             21:00 the desk releases the watch by authority in writing"
        )
    };
    check(
        "released_by_other",
        &night("owed release by: authority"),
        expect![[r#"
        Kept 21:00-21:00 {"by":"authority","in_writing":true,"may":["authority"]} on 21:00 sealed after 0 s [IFC 2018 901.7]
    "#]],
    );
    check("released_by_other", &night("seed: 2"), expect![[""]]);
}

/// Another duty that nobody ended lasts as long as the shift.
#[test]
fn another_duty_until_the_end_of_the_shift() {
    check(
        "other_duty",
        "watch: 20:00 to 23:00
         gap hall: 6 h
         20:00 Ines begins
         21:00 Ines is given another duty
         22:00 Ines ends and signs
         22:00 Omar begins
         22:30 Omar is given another duty",
        expect![[r#"
            Broken 21:00-22:00 {"length_s":3600,"who":"p-ines"} on 20:00 19:55 sealed after 0 s [terms]
            Broken 22:30-22:32 {"length_s":120,"who":"p-omar"} on 22:00 19:55 sealed after 0 s [terms]
        "#]],
    );
}

/// Telling, acting and closing are each something done; while the finder's shift goes on there is time to write it.
#[test]
fn something_was_done_about_it() {
    let night = |done: &str| {
        format!(
            "watch: 20:00
             gap hall: 6 h
             demand what_was_done: client Post orders 7
             20:00 Ines begins
             20:10 Ines finds exits in hall: Door chained
             {done}"
        )
    };
    let rule = "observation_without_action";
    check(rule, &night("20:11 Ines tells the owner by phone about it"), expect![[""]]);
    check(rule, &night("20:11 Ines does cleared"), expect![[""]]);
    check(rule, &night("20:11 Ines closes exits with cleared"), expect![[""]]);
    check(
        rule,
        &night("20:11 Ines notes: Late"),
        expect![[r#"
        Look hall 20:10-20:13 {"class":"exits","open_s":180,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [Post orders 7]
    "#]],
    );
    check(
        rule,
        &night("20:11 Ines ends and signs"),
        expect![[r#"
        Broken hall 20:10-20:13 {"class":"exits","open_s":180,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [Post orders 7]
    "#]],
    );
}

/// What was closed, and what is only a note, is not open at the release.
#[test]
fn nothing_open_at_the_release() {
    check(
        "observation_open_at_release",
        "watch: 20:00
         gap hall: 6 h
         20:00 Ines begins
         20:10 Ines finds exits in hall: Door chained
         20:11 Ines closes exits with cleared
         20:12 Ines finds people in hall, note: Cleaner
         21:00 the desk releases the watch by authority in writing",
        expect![[""]],
    );
}
