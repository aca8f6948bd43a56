//! Who was there: reliefs, first rounds, and what a finder left undone.

use super::check;
use expect_test::{Expect, expect};

fn relief(story: &str, expected: Expect) {
    let night = format!("watch: 20:00 to 23:00\ngap hall: 4 h\n{story}");
    check("relief_missing", &night, expected);
}

/// The other was there before and has not ended.
#[test]
fn another_who_is_still_there_has_taken_over() {
    check(
        "relief_missing",
        "watch: 20:00
         gap hall: 4 h
         20:00 Ines begins
         20:00 Omar begins
         21:00 Ines ends and signs
         22:00 Omar sees hall",
        expect![[""]],
    );
}

/// Ines begins anew as she ends: she never left.
#[test]
fn who_begins_anew_in_that_instant_never_left() {
    relief(
        "20:00 Ines begins
         21:00:00 Ines ends and signs
         21:00:00 Ines begins
         23:00 Ines ends and signs",
        expect![[""]],
    );
}

/// Whoever leaves as the watch ends leaves nobody's post, whoever comes afterwards.
#[test]
fn nobody_relieves_after_the_end() {
    relief(
        "20:00 Ines begins
         23:00 Ines ends and signs
         23:30 Omar begins
         23:40 Omar ends and signs",
        expect![[""]],
    );
}

/// Of two who came later the first is the next.
#[test]
fn the_next_is_the_first_who_came() {
    relief(
        "20:00 Ines begins
         21:00 Ines ends and signs
         21:20 Omar begins
         21:40 Jon begins
         23:00 Omar ends and signs
         23:00 Jon ends and signs",
        expect![[r#"
            Look 21:00-21:20 {"next":"p-omar","nobody_s":1200,"who":"p-ines"} on 21:00 21:20 sealed after 0 s [ours]
        "#]],
    );
}

/// The look of a later shift is not the first round of an earlier one.
#[test]
fn each_shift_has_its_own_first_round() {
    check(
        "first_round_late",
        "watch: 20:00 to 22:00
         gap hall: 4 h
         first round: 15 min
         20:00 Ines begins
         20:30 Ines ends and signs
         20:30 Omar begins
         20:35 Omar sees hall
         21:00 Omar ends and signs
         21:00 Ines begins
         21:05 Ines sees hall
         22:00 Ines ends and signs",
        expect![[r#"
            Broken 20:00-20:30 {"after_s":null,"allowed_s":900,"who":"p-ines","why":null} on 20:00 sealed after 0 s [terms]
            Kept 20:30-20:35 {"after_s":300,"allowed_s":900,"who":"p-omar","why":null} on 20:30 20:35 sealed after 0 s [terms]
            Kept 21:00-21:05 {"after_s":300,"allowed_s":900,"who":"p-ines","why":null} on 21:00 21:05 sealed after 0 s [terms]
        "#]],
    );
}

fn left_undone(story: &str, expected: Expect) {
    let night = format!("watch: 20:00\ngap hall: 4 h\n{story}");
    check("observation_without_action", &night, expected);
}

/// While the finder is on duty there is time to write, whoever else has ended and however often the finder had before.
#[test]
fn while_the_finder_is_there_it_is_a_place_to_look() {
    left_undone(
        "20:00 Ines begins
         20:00 Omar begins
         20:10 Ines finds exits in hall: Door chained
         21:00 Omar ends and signs",
        expect![[r#"
            Look hall 20:10-21:02 {"class":"exits","open_s":3120,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [ours]
        "#]],
    );
    left_undone(
        "20:00 Ines begins
         20:30 Ines ends and signs
         20:30 Omar begins
         21:00 Omar ends and signs
         21:00 Ines begins
         21:10 Ines finds exits in hall: Door chained",
        expect![[r#"
            Look hall 21:10-21:12 {"class":"exits","open_s":120,"reliefs":0,"severity":"this_round"} on 21:10 sealed after 0 s [ours]
        "#]],
    );
}

/// Once the finder has gone, or the watch is over, nobody will write it any more.
#[test]
fn once_the_finder_has_gone_it_is_broken() {
    left_undone(
        "20:00 Ines begins
         20:00 Omar begins
         20:10 Ines finds exits in hall: Door chained
         21:00 Ines ends and signs
         21:30 Omar sees hall",
        expect![[r#"
            Broken hall 20:10-21:32 {"class":"exits","open_s":4920,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [ours]
        "#]],
    );
    left_undone(
        "20:00 Ines begins
         20:10:00 Ines finds exits in hall: Door chained
         20:10:00 Ines ends and signs
         20:10:00 Omar begins
         21:30 Omar sees hall",
        expect![[r#"
            Broken hall 20:10-21:32 {"class":"exits","open_s":4920,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [ours]
        "#]],
    );
    left_undone(
        "20:00 Ines begins
         20:10 Ines finds exits in hall: Door chained
         21:00 the desk releases the watch by authority in writing",
        expect![[r#"
            Broken hall 20:10-21:00 {"class":"exits","open_s":3000,"reliefs":0,"severity":"this_round"} on 20:10 sealed after 0 s [ours]
        "#]],
    );
}

/// What is found after the release was not open at it.
#[test]
fn found_after_the_release() {
    check(
        "observation_open_at_release",
        "watch: 20:00
         gap hall: 4 h
         20:00 Ines begins
         20:50 the desk releases the watch by authority in writing
         20:55 Ines finds exits in hall: Door chained
         21:00 Ines ends and signs",
        expect![[""]],
    );
}
