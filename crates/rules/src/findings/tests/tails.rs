//! Hot work whose looks ended with the watch, with the permit, or before either.

use super::check;
use expect_test::{Expect, expect};

/// Watched to 17:00, then looks at most 20 minutes apart to 18:00; the story tells what came after 17:00.
fn looks(story: &str, expected: Expect) {
    let night = format!(
        "watch: 15:00 to 20:00
         gap hall: 6 h
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         {story}
         20:00 Ines ends and signs"
    );
    check("look_back_missed", &night, expected);
}

#[test]
fn nobody_owes_a_look_after_the_sign_off() {
    let story = "17:20 Ines looks back
         17:40 Ines looks back
         18:30 Ines closes the hot work without a survey";
    looks(
        story,
        expect![[r#"
            Broken hall 17:40-18:30 {"every_s":1200,"unseen_s":3000} on 17:40 16:00 sealed after 0 s [terms]
        "#]],
    );
}

#[test]
fn who_signs_off_after_a_survey_has_looked() {
    let story = "17:20 Ines looks back
         17:40 Ines looks back
         18:00 Ines closes the hot work";
    looks(story, expect![[""]]);
}

/// Signing off early does not shorten what is owed: looks until 18:00.
#[test]
fn an_early_sign_off_leaves_the_looks_owed() {
    let story = "17:05 Ines closes the hot work without a survey";
    looks(
        story,
        expect![[r#"
            Broken hall 17:00-18:00 {"every_s":1200,"unseen_s":3600} on 16:00 sealed after 0 s [terms]
        "#]],
    );
}

/// Released at 19:00, judged much later: nobody looked from 17:40 until the release.
#[test]
fn nobody_owes_a_look_after_the_release() {
    let story = "17:20 Ines looks back
         17:40 Ines looks back
         19:00 the desk releases the watch by the authority";
    looks(
        story,
        expect![[r#"
            Broken hall 17:40-19:00 {"every_s":1200,"unseen_s":4800} on 17:40 16:00 sealed after 0 s [terms]
        "#]],
    );
}

/// Without a sign-off the watch's own end is the last that anybody owed.
#[test]
fn nobody_owes_a_look_after_the_watch() {
    looks(
        "17:20 Ines looks back",
        expect![[r#"
            Broken hall 17:20-20:00 {"every_s":1200,"unseen_s":9600} on 17:20 16:00 sealed after 0 s [terms]
        "#]],
    );
}

/// The looks of a phone without signal may still come: only the release makes them missing.
#[test]
fn a_phone_that_is_not_heard_may_hold_the_look_back() {
    check(
        "look_back_missed",
        "watch: 15:00
         people: Ines, Omar
         gap hall: 6 h
         phone of Ines: offline 17:05 to never
         15:00 Ines begins
         15:00 Omar begins
         15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         17:40 Omar sees hall",
        expect![[r#"
            Unclear hall 17:00-17:42 {"every_s":1200,"unseen_s":2520,"why":{"not_heard":{"since_ms":1770739200000}}} on 16:00 sealed after 0 s [terms]
        "#]],
    );
}

/// What the clock of a phone says about its looks is worth nothing once it was set back.
#[test]
fn looks_of_a_clock_that_was_set_back_are_unclear() {
    let night = |rule, expected| {
        check(
            rule,
            "watch: 15:00 to 20:00
             gap hall: 6 h
             phone of Ines: offline 15:02 to 19:30
             15:00 Ines begins
             15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
             15:10 Ines notes hot work in hall
             15:55 the phone of Ines is set back 30 min
             16:00 Ines sees the last spark
             18:00 Ines closes the hot work
             20:00 Ines ends and signs",
            expected,
        );
    };
    night(
        "look_back_missed",
        expect![[r#"
            Unclear hall 16:30-17:30 {"every_s":1200,"unseen_s":3600,"why":{"clock":{"set_back":{"by_ms":1800000}}}} on 17:30 sealed after 7200 s [terms]
        "#]],
    );
    night(
        "tail_short",
        expect![[r#"
            Unclear hall 15:30-17:30 {"closed":true,"kept_s":7200,"owed_s":3600,"why":{"clock":{"set_back":{"by_ms":1800000}}}} on 15:30 17:30 sealed after 14400 s [terms]
        "#]],
    );
}

/// An emergency stops the looks as it stops the rounds: 35 of the 50 minutes do not count.
#[test]
fn an_emergency_stops_the_looks_back() {
    let night = |third: &str| {
        format!(
            "17:20 Ines looks back
             17:25 Ines calls the fire service
             18:00 Ines sees the engine
             18:01 Ines says it is over
             {third} Ines looks back
             18:30 Ines closes the hot work without a survey"
        )
    };
    looks(&night("18:15"), expect![[""]]);
    looks(
        &night("18:16"),
        expect![[r#"
            Broken hall 17:20-18:16 {"every_s":1200,"unseen_s":3360} on 17:20 18:16 sealed after 0 s [terms]
        "#]],
    );
}

/// Two people press one after the other: half a minute between them ends no tail, as it breaks no cover line.
#[test]
fn a_relief_pressed_half_a_minute_late_ends_no_tail() {
    let night = |begins: &str| {
        format!(
            "watch: 15:00 to 20:00
             gap hall: 6 h
             15:00 Ines begins
             15:05 Ines reads a permit for hall, watch 60 min
             15:10 Ines notes hot work in hall
             16:00 Ines sees the last spark
             16:30:00 Ines ends and signs
             {begins} Omar begins
             17:10 Omar closes the hot work
             20:00 Omar ends and signs"
        )
    };
    check(
        "tail_short",
        &night("16:30:59"),
        expect![[r#"
            Kept hall 16:00-17:10 {"closed":true,"kept_s":4200,"owed_s":3600} on 16:00 17:10 sealed after 0 s [terms]
        "#]],
    );
    check(
        "tail_short",
        &night("16:31:00"),
        expect![[r#"
            Broken hall 16:00-16:30 {"closed":true,"kept_s":1800,"owed_s":3600} on 16:00 17:10 sealed after 0 s [terms]
        "#]],
    );
}

/// Whoever went on a break without signal may have come back.
#[test]
fn a_break_whose_end_is_still_on_the_phone() {
    check(
        "tail_short",
        "watch: 15:00
         gap hall: 6 h
         phone of Ines: offline 16:21 to never
         15:00 Ines begins
         15:05 Ines reads a permit for hall, watch 60 min
         15:10 Ines notes hot work in hall
         16:00 Ines sees the last spark
         16:20 Ines takes a break
         17:30 the desk notes: No answer",
        expect![[r#"
            Unclear hall 16:00-16:20 {"closed":false,"kept_s":1200,"owed_s":3600,"why":{"not_heard":{"since_ms":1770740400000}}} on 16:00 sealed after 0 s [terms]
        "#]],
    );
}
