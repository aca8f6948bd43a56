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
        Broken hall 17:40-18:30 {"every_s":1200,"unseen_s":3000} sealed after 0 s [terms]
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
        Broken hall 17:00-18:00 {"every_s":1200,"unseen_s":3600} sealed after 0 s [terms]
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
        Broken hall 17:40-19:00 {"every_s":1200,"unseen_s":4800} sealed after 0 s [terms]
    "#]],
    );
}

/// Without a sign-off the watch's own end is the last that anybody owed.
#[test]
fn nobody_owes_a_look_after_the_watch() {
    looks(
        "17:20 Ines looks back",
        expect![[r#"
        Broken hall 17:20-20:00 {"every_s":1200,"unseen_s":9600} sealed after 0 s [terms]
    "#]],
    );
}
