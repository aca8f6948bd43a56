//! Gaps: kept, broken, unclear, stopped, corrected.

use super::{all_kept, check};
use expect_test::expect;

#[test]
fn broken_when_the_stair_waits_too_long() {
    check(
        "unseen_gap",
        "watch: 20:00 to 20:30
         gap stair-b: 15 min
         source: house post orders 4
         20:00 Ines begins
         20:04 Ines sees stair-b
         20:21 Ines sees stair-b
         20:30 Ines ends and signs",
        expect![[r#"
            Broken stair-b 20:04-20:21 {"allowed_s":900,"by_hand":false,"open":false,"over_s":120,"stopped_s":0,"unseen_s":1020,"why":null} on 20:04 20:21 sealed after 0 s [post orders 4]
        "#]],
    );
}

#[test]
fn an_honest_night_without_signal_is_kept_and_sealed_late() {
    let night = "watch: 20:00 to 21:00
         gap stair-b: 15 min
         phone of Ines: offline 20:05 to 23:00
         20:00 Ines begins
         20:04 Ines sees stair-b
         20:19 Ines sees stair-b
         20:33 Ines sees stair-b
         20:47 Ines sees stair-b
         21:00 Ines ends and signs";
    check(
        "unseen_gap",
        night,
        expect![[r#"
            Kept stair-b 20:04-20:19 {"allowed_s":900,"by_hand":false,"open":false,"over_s":0,"stopped_s":0,"unseen_s":900,"why":null} on 20:04 20:19 sealed after 9660 s [house rule]
        "#]],
    );
    all_kept(night);
}

#[test]
fn an_emergency_stops_the_rounds_and_breaks_nothing() {
    let night = "watch: 20:00 to 21:00
         gap stair-b: 15 min
         20:00 Ines begins
         20:04 Ines sees stair-b
         20:10 Ines sees fire in stair-b
         20:11 Ines calls the fire service
         20:40 Ines sees the engine
         20:50 Ines says it is over
         20:52 Ines sees stair-b
         21:00 Ines ends and signs";
    check(
        "unseen_gap",
        night,
        expect![[r#"
            Kept stair-b 20:10-20:52 {"allowed_s":900,"by_hand":false,"open":false,"over_s":-180,"stopped_s":1800,"unseen_s":2520,"why":null} on 20:10 20:52 sealed after 0 s [house rule]
        "#]],
    );
    check(
        "rounds_stopped",
        night,
        expect![[r#"
            Look stair-b 20:10-20:40 {"open":false,"stopped_s":1800} on 20:10 20:11 20:40 20:50 sealed after 0 s [ours]
        "#]],
    );
}

#[test]
fn a_clock_that_was_set_back_makes_its_gaps_unclear() {
    check(
        "unseen_gap",
        "watch: 20:00 to 21:00
         gap stair-b: 15 min
         phone of Ines: offline 20:05 to 22:00
         20:00 Ines begins
         20:04 Ines sees stair-b
         20:06 the phone of Ines is set back 10 min
         20:30 Ines sees stair-b
         20:44 Ines sees stair-b
         20:58 Ines sees stair-b
         21:00 Ines ends and signs",
        expect![[r#"
            Unclear stair-b 20:04-20:20 {"allowed_s":900,"by_hand":false,"open":false,"over_s":60,"stopped_s":0,"unseen_s":960,"why":{"clock":{"set_back":{"by_ms":600000}}}} on 20:04 20:20 sealed after 6000 s [house rule]
            Unclear stair-b 20:20-20:34 {"allowed_s":900,"by_hand":false,"open":false,"over_s":-60,"stopped_s":0,"unseen_s":840,"why":{"clock":{"set_back":{"by_ms":600000}}}} on 20:20 20:34 sealed after 6000 s [house rule]
            Unclear stair-b 20:34-20:48 {"allowed_s":900,"by_hand":false,"open":false,"over_s":-60,"stopped_s":0,"unseen_s":840,"why":{"clock":{"set_back":{"by_ms":600000}}}} on 20:34 20:48 sealed after 5160 s [house rule]
            Unclear stair-b 20:48-21:00 {"allowed_s":900,"by_hand":false,"open":false,"over_s":-180,"stopped_s":0,"unseen_s":720,"why":{"clock":{"set_back":{"by_ms":600000}}}} on 20:48 sealed after 4320 s [house rule]
        "#]],
    );
}

#[test]
fn a_correction_counts_and_one_that_was_taken_back_does_not() {
    check(
        "unseen_gap",
        "watch: 20:00 to 20:45
         gap hall: 30 min
         gap stair-b: 15 min
         20:00 Ines begins
         20:04 Ines sees hall
         20:05 Ines corrects the last line to stair-b
         20:06 Ines sees hall
         20:18 Ines sees stair-b
         20:31 Ines sees stair-b
         20:32 Ines sees hall
         20:33 Ines takes back the last line
         20:45 Ines ends and signs",
        expect![[r#"
            Broken hall 20:06-20:45 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":540,"stopped_s":0,"unseen_s":2340,"why":null} on 20:06 sealed after 0 s [house rule]
            Kept stair-b 20:31-20:45 {"allowed_s":900,"by_hand":false,"open":false,"over_s":-60,"stopped_s":0,"unseen_s":840,"why":null} on 20:31 sealed after 0 s [house rule]
        "#]],
    );
}

#[test]
fn a_tightened_gap_begins_to_run_when_it_is_set() {
    check(
        "unseen_gap",
        "watch: 20:00 to 21:20
         gap hall: 30 min
         20:00 Ines begins
         20:20 Ines sees hall
         20:25 the desk sets the gap of hall to 15 min
         20:39 Ines sees hall
         20:55 Ines sees hall
         21:10 Ines sees hall
         21:20 Ines ends and signs",
        expect![[r#"
            Broken hall 20:39-20:55 {"allowed_s":900,"by_hand":false,"open":false,"over_s":60,"stopped_s":0,"unseen_s":960,"why":null} on 20:39 20:55 sealed after 0 s [house rule]
        "#]],
    );
}

#[test]
fn a_zone_nobody_could_enter_is_never_seen() {
    check(
        "zone_never_seen",
        "watch: 20:00 to 21:00
         gap hall: 30 min
         gap vault: 30 min
         20:00 Ines begins
         20:04 Ines sees hall
         20:06 Ines cannot reach vault-1, locked
         20:30 Ines sees hall
         20:58 Ines sees hall
         21:00 Ines ends and signs",
        expect![[r#"
            Broken vault 20:00-21:00 {"allowed_s":1800,"owed_s":3600,"refused":["locked"],"why":null} on 20:06 sealed after 0 s [house rule]
        "#]],
    );
}

/// A look after the end of the watch closes none of its gaps, and its clock puts none of them in doubt.
#[test]
fn a_look_after_the_end_says_nothing_about_the_watch() {
    let night = "watch: 20:00 to 21:00
         people: Ines, Omar
         gap hall: 40 min
         phone of Omar: offline 21:02 to 21:40
         20:00 Ines begins
         20:20 Ines sees hall
         20:50 Ines sees hall
         21:00 Ines ends and signs
         21:05 the phone of Omar is set forward 120 min
         21:10 Omar sees hall";
    check(
        "unseen_gap",
        night,
        expect![[r#"
        Kept hall 20:20-20:50 {"allowed_s":2400,"by_hand":false,"open":false,"over_s":-600,"stopped_s":0,"unseen_s":1800,"why":null} on 20:20 20:50 sealed after 0 s [house rule]
    "#]],
    );
}
