//! Evidence that conflicts or deserves a look: clocks, paper, speed, pictures, chains.

use super::{check, judged};
use crate::findings::{Judging, judge};
use expect_test::expect;

#[test]
fn an_odour_needs_a_cause_and_a_second_look() {
    let night = |between: &str, done: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             20:00 Ines begins
             20:10 Ines finds fire in hall: Smell of varnish
             {between}
             20:30 Ines closes fire with {done}
             21:00 Ines ends and signs"
        )
    };
    check(
        "unknown_odour_closed",
        &night("20:12 Ines notes: Painters", "nothing-found"),
        expect![[r#"
            Broken hall 20:10-20:30 {"cause_found":false,"looked_again":false,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
        "#]],
    );
    check(
        "unknown_odour_closed",
        &night("20:25 Ines sees hall", "nothing-found"),
        expect![[r#"
        Look hall 20:10-20:30 {"cause_found":false,"looked_again":true,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
    "#]],
    );
    check(
        "unknown_odour_closed",
        &night("20:12 Ines notes: Painters", "cause-found"),
        expect![[r#"
            Look hall 20:10-20:30 {"cause_found":true,"looked_again":false,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
        "#]],
    );
    check("unknown_odour_closed", &night("20:25 Ines sees hall", "cause-found"), expect![[""]]);
    let called = "20:12 Ines calls the fire service";
    check("unknown_odour_closed", &night(called, "nothing-found"), expect![[""]]);
}

#[test]
fn a_clock_set_back_and_one_that_only_slept() {
    let night = |what: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             phone of Ines: offline 20:05 to 22:00
             20:00 Ines begins
             20:10 Ines sees hall
             20:20 the phone of Ines {what}
             20:40 Ines sees hall
             21:00 Ines ends and signs"
        )
    };
    check(
        "clock_moved",
        &night("is set back 30 min"),
        expect![[r#"
            Unclear 20:10-20:10 {"device":"aefd5fd6d53dd9e9aa4c870c90ebca6d6ddb5f4072d27876d680c918a2fcad0e","doubt":{"set_back":{"by_ms":1800000}},"looks":1} on 20:10 sealed after 6600 s [ours]
        "#]],
    );
    check("clock_moved", &night("starts anew"), expect![[""]]);
}

#[test]
fn paper_typed_in_the_morning_is_said() {
    let night = "watch: 20:00 to 21:00
         gap hall: 30 min
         gap stair-b: 30 min
         20:00 Ines begins
         20:02 Ines sees hall
         20:04 Ines sees stair-b
         20:30 Ines sees hall
         22:00 the desk types from paper of Ines, 20:30 stair-b
         22:01 the desk types from paper of Ines, 20:50 hall
         22:02 the desk types from paper of Ines, 20:52 stair-b";
    check(
        "written_late",
        night,
        expect![[r#"
            Look 20:30-20:52 {"after_s_max":5400,"looks":3,"of":6,"paper":3,"phoned_in":0,"who":"p-ines"} on 22:00 22:01 22:02 sealed after 0 s [ours]
        "#]],
    );
    check(
        "paper_disagrees",
        night,
        expect![[r#"
            Unclear stair-b 20:30-20:30 {"apart_s":0,"phone":"hall","who":"p-ines"} on 22:00 20:30 sealed after 0 s [ours]
        "#]],
    );
    check("two_places", night, expect![""]);
}

#[test]
fn nobody_is_in_two_places() {
    let night = |time: &str| {
        format!(
            "watch: 20:00 to 21:00
             people: Ines, Omar
             gap hall: 60 min
             gap attic: 60 min
             20:00 Ines begins
             20:10:00 Ines sees hall
             {time} Ines sees attic on the phone of Omar
             21:00 Ines ends and signs"
        )
    };
    check(
        "two_places",
        &night("20:10:20"),
        expect![[r#"
            Unclear attic 20:10-20:10 {"apart_s":20,"other":"hall","who":"p-ines"} on 20:10 20:10 sealed after 0 s [ours]
        "#]],
    );
    check("two_places", &night("20:14:00"), expect![[""]]);
}

#[test]
fn a_look_entered_for_a_time_that_had_not_come() {
    check(
        "written_before_event",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:11 Ines corrects the time of the last line as of 20:40
         21:00 Ines ends and signs",
        expect![[r#"
            Unclear 20:10-20:40 {"before_s":1800,"proved":true} on 20:10 sealed after 0 s [ours]
        "#]],
    );
}

#[test]
fn tags_scanned_from_a_chair() {
    let night = |second: &str, third: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             gap attic: 60 min
             gap cellar: 60 min
             route: hall-1, attic-1, cellar-1
             legs: 200 s, 120 s, 240 s
             20:00 Ines begins
             20:05 Ines begins a round
             20:06:00 Ines sees hall
             {second} Ines sees attic
             {third} Ines sees cellar
             20:20 Ines ends the round
             21:00 Ines ends and signs"
        )
    };
    check(
        "faster_than_walked",
        &night("20:06:10", "20:06:20"),
        expect![[r#"
            Look cellar 20:06-20:06 {"from":"attic-1","legs":2,"round":1,"to":"cellar-1","took_s":10,"walk_s":240,"who":"p-ines"} on 20:06 20:06 20:06 sealed after … [ours]
        "#]],
    );
    check("faster_than_walked", &night("20:07:30", "20:10:30"), expect![[""]]);
}

/// The hall comes twice in the round: from it to the cellar is one leg, not the way round by the attic.
#[test]
fn a_stop_that_comes_twice_is_left_from_where_it_is_nearest() {
    let night = |cellar: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             gap attic: 60 min
             gap cellar: 60 min
             route: hall-1, attic-1, hall-1, cellar-1
             legs: 30 s, 200 s, 200 s, 30 s
             20:00 Ines begins
             20:05 Ines begins a round
             20:06:00 Ines sees hall
             {cellar} Ines sees cellar
             20:20 Ines ends the round
             21:00 Ines ends and signs"
        )
    };
    check("faster_than_walked", &night("20:06:30"), expect![[""]]);
    check(
        "faster_than_walked",
        &night("20:06:05"),
        expect![[r#"
            Look cellar 20:06-20:06 {"from":"hall-1","legs":1,"round":1,"to":"cellar-1","took_s":5,"walk_s":30,"who":"p-ines"} on 20:06 20:06 sealed after … [ours]
        "#]],
    );
}

#[test]
fn a_round_without_a_look_and_one_longer_than_its_gap() {
    let night = "watch: 20:00 to 22:00
         gap hall: 30 min
         20:00 Ines begins
         20:01 Ines begins a round
         20:02 Ines sees hall
         20:30 Ines sees hall
         20:40 Ines ends the round
         20:50 Ines begins a round
         20:59 Ines ends the round
         21:00 Ines sees hall
         21:29 Ines sees hall
         21:58 Ines sees hall
         22:00 Ines ends and signs";
    check(
        "silent_round",
        night,
        expect![[r#"
            Look 20:50-20:59 {"all_clear":true,"looks":0,"round":2,"stated":0,"who":"p-ines"} on 20:50 20:59 sealed after 0 s [ours]
        "#]],
    );
    check(
        "round_longer_than_gap",
        night,
        expect![[r#"
            Look hall 20:01-20:40 {"allowed_s":1800,"round":1,"took_s":2340,"who":"p-ines"} on 20:01 20:40 sealed after 0 s [house rule]
        "#]],
    );
}

#[test]
fn the_same_photo_twice() {
    check(
        "same_photo",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines finds rubbish in hall
         20:11 Ines photographs it
         20:30 Ines finds exits in hall
         20:31 Ines sends the same photo again
         20:32 Ines photographs it
         20:33 Ines does cleared about rubbish
         20:33 Ines does cleared about exits
         21:00 Ines ends and signs",
        expect![[r#"
            Look 20:11-20:31 {"blob":"e5a5555d73bc0e1568d65563abf327bd6c0b9b9dc3336e86e0b17e865e9ee6d2","times":2} on 20:11 20:31 sealed after 0 s [ours]
        "#]],
    );
}

#[test]
fn a_withheld_line_and_a_cut_off_end_show() {
    let night = "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines sees hall
         20:50 Ines sees hall
         21:00 Ines ends and signs";
    let (whole, findings) = judged(night);
    assert!(findings.iter().all(|finding| finding.rule() != "chain_fault"));
    for (withheld, missing, counted) in [(1, 1, None), (3, 0, Some(4))] {
        let mut record = night::tell(night).unwrap();
        let phone = whole.keys[1].device();
        record.lines.retain(|line| line.line.dev != phone || line.line.seq != withheld);
        let watch = record.folded();
        let state = watch.about(record.end_ms);
        let judging = Judging { watch: &watch, state: &state, terms: Some(&record.terms) };
        let facts = judge(&judging).into_iter().find_map(|finding| match finding.facts {
            crate::findings::Facts::ChainFault(facts) => Some(facts),
            _ => None,
        });
        let facts = facts.expect("the fault is found");
        assert_eq!((facts.missing, facts.counted), (missing, counted));
    }
}

#[test]
fn looks_written_in_one_go_are_said_unless_they_stand_close_together() {
    let night = |route: &str, times: [&str; 5]| {
        let seen: Vec<String> = times
            .iter()
            .zip(["a", "b", "c", "d", "e"])
            .map(|(time, zone)| format!("{time} Ines sees {zone}"))
            .collect();
        format!(
            "watch: 20:00 to 21:00
             gap a: 60 min
             gap b: 60 min
             gap c: 60 min
             gap d: 60 min
             gap e: 60 min
             {route}
             20:00 Ines begins
             {}
             21:00 Ines ends and signs",
            seen.join("\n")
        )
    };
    let at_once = ["20:10:00", "20:10:05", "20:10:09", "20:10:16", "20:10:20"];
    check(
        "written_in_batch",
        &night("", at_once),
        expect![[r#"
            Look 20:10-20:10 {"looks":5,"stops":5,"who":"p-ines","within_s":20} on 20:10 20:10 20:10 20:10 20:10 sealed after 0 s [ours]
        "#]],
    );
    let far = "route: a-1, b-1, c-1, d-1, e-1\nlegs: 60 s, 60 s, 60 s, 60 s, 60 s";
    check(
        "written_in_batch",
        &night(far, at_once),
        expect![[r#"
            Look 20:10-20:10 {"looks":5,"stops":5,"who":"p-ines","within_s":20} on 20:10 20:10 20:10 20:10 20:10 sealed after 0 s [ours]
        "#]],
    );
    let near = "route: a-1, b-1, c-1, d-1, e-1\nlegs: 5 s, 5 s, 5 s, 5 s, 5 s";
    check("written_in_batch", &night(near, at_once), expect![[""]]);
    let spread = ["20:10:00", "20:10:20", "20:10:30", "20:10:50", "20:11:00"];
    check("written_in_batch", &night("", spread), expect![[""]]);
}
