//! Cases whose answer was published by somebody else. Beside each stands its source.

use super::check;
use expect_test::expect;

/// West Allis, Wisconsin, fire department fire watch guideline: each physical area is inspected at
/// 30-minute intervals, so an area seen at 10:00 and at 10:31 was late by a minute even if rounds
/// began on time.
#[test]
fn west_allis_owes_the_interval_to_each_area() {
    check(
        "unseen_gap",
        "watch: 09:55 to 11:00
         gap boiler-room: 30 min
         gap hall: 30 min
         source: code West Allis, fire watch guideline
         09:55 Ines begins
         09:58 Ines begins a round
         10:00 Ines sees boiler-room
         10:10 Ines sees hall
         10:28 Ines begins a round
         10:31 Ines sees boiler-room
         10:36 Ines sees hall
         10:58 Ines sees boiler-room
         11:00 Ines sees hall
         11:00 Ines ends and signs",
        expect![[r#"
            Broken boiler-room 10:00-10:31 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":60,"stopped_s":0,"unseen_s":1860,"why":null} on 10:00 10:31 sealed after 0 s [West Allis, fire watch guideline]
            Kept hall 10:10-10:36 {"allowed_s":1800,"by_hand":false,"open":false,"over_s":-240,"stopped_s":0,"unseen_s":1560,"why":null} on 10:10 10:36 sealed after 0 s [West Allis, fire watch guideline]
        "#]],
    );
}

/// Regional Municipality of Wood Buffalo, fire watch guideline: the first round within 15 minutes of
/// the beginning of the shift. 18:00 and 18:14: in time; 18:16: late.
#[test]
fn wood_buffalo_owes_the_first_round_in_a_quarter_of_an_hour() {
    let night = |first: &str| {
        format!(
            "watch: 18:00 to 19:00
             gap hall: 60 min
             first round: 15 min
             demand first_round: code Wood Buffalo, fire watch guideline
             18:00 Ines begins
             {first} Ines begins a round
             18:20 Ines sees hall
             18:50 Ines ends the round
             19:00 Ines ends and signs"
        )
    };
    check(
        "first_round_late",
        &night("18:14"),
        expect![[r#"
            Kept 18:00-18:14 {"after_s":840,"allowed_s":900,"who":"p-ines","why":null} on 18:00 18:14 sealed after 0 s [Wood Buffalo, fire watch guideline]
        "#]],
    );
    check(
        "first_round_late",
        &night("18:16"),
        expect![[r#"
            Broken 18:00-18:16 {"after_s":960,"allowed_s":900,"who":"p-ines","why":null} on 18:00 18:16 sealed after 0 s [Wood Buffalo, fire watch guideline]
        "#]],
    );
}
