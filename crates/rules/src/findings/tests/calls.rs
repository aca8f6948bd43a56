//! Who was called, in which order, and what a call settles.

use super::check;
use expect_test::{Expect, expect};

/// The middle of an hour in which Ines sees fire at 20:10 and the engine at 20:30.
fn fire(story: &str, expected: Expect) {
    let night = format!(
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         {story}
         20:30 Ines sees the engine
         20:50 Ines says it is over
         21:00 Ines ends and signs"
    );
    check("order_of_calls", &night, expected);
}

#[test]
fn the_fire_service_first_is_nothing_to_look_at() {
    fire(
        "20:10 Ines sees fire in hall
         20:11 Ines calls the fire service
         20:12 Ines tells the supervisor by phone",
        expect![[""]],
    );
}

/// Nobody is stated to have called.
#[test]
fn no_call_at_all() {
    fire(
        "20:10 Ines sees fire in hall",
        expect![[r#"
        Look 20:10-20:50 {"called":false,"seen_to_called_s":null,"told_before":[]} on 20:10 20:30 20:50 sealed after 0 s [ours]
    "#]],
    );
}

/// A call written as a communication is one; the first of two counts, and what is told in its very minute is not before it.
#[test]
fn a_call_told_as_a_communication() {
    fire(
        "20:10 Ines sees fire in hall
         20:11 Ines tells the fire-service by phone
         20:11 Ines tells the owner by phone
         20:13 Ines tells the supervisor by phone
         20:15 Ines calls the fire service",
        expect![[""]],
    );
}

/// The fire service was told of the outage at eight: that is no call about a fire seen at ten past.
#[test]
fn what_was_told_before_anything_was_seen_is_no_part_of_it() {
    fire(
        "20:01 Ines tells the fire-service by phone
         20:02 Ines tells the supervisor by phone
         20:10 Ines sees fire in hall",
        expect![[r#"
            Look 20:10-20:50 {"called":false,"seen_to_called_s":null,"told_before":[]} on 20:10 20:30 20:50 sealed after 0 s [ours]
        "#]],
    );
    fire(
        "20:02 Ines opens the card
         20:05 Ines tells the supervisor by phone
         20:10 Ines sees fire in hall
         20:11 Ines calls the fire service",
        expect![[""]],
    );
}

/// Who wakes the people in the building has not told somebody else first.
#[test]
fn the_occupants_may_be_told_first() {
    fire(
        "20:10 Ines sees fire in hall
         20:11 Ines tells the occupants by in-person
         20:12 Ines calls the fire service",
        expect![[""]],
    );
}

#[test]
fn a_card_that_was_only_opened_and_a_drill_are_no_emergency() {
    let night = |story: &str| {
        format!(
            "watch: 20:00 to 21:00
             gap hall: 60 min
             20:00 Ines begins
             {story}
             21:00 Ines ends and signs"
        )
    };
    let opened = "20:10 Ines opens the card
         20:11 Ines tells the supervisor by phone";
    check("order_of_calls", &night(opened), expect![[""]]);
    let drill = "20:10 Ines begins a drill
         20:11 Ines sees fire in hall
         20:12 Ines tells the supervisor by phone
         20:15 Ines calls the fire service
         20:20 Ines ends the drill";
    check("order_of_calls", &night(drill), expect![""]);
}

/// A card opened and put away belongs to no stretch in which the rounds were stopped.
#[test]
fn what_stopped_the_rounds_rests_on_what_was_stated() {
    check(
        "rounds_stopped",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:09 Ines opens the card
         20:10 Ines calls the fire service
         20:30 Ines sees the engine
         20:50 Ines says it is over
         21:00 Ines ends and signs",
        expect![[r#"
            Look 20:10-20:30 {"open":false,"stopped_s":1200} on 20:10 20:30 20:50 sealed after 0 s [ours]
        "#]],
    );
}

/// An odour of 20:10, closed at 20:30.
fn odour(story: &str, done: &str, expected: Expect) {
    let night = format!(
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         {story}
         20:30 Ines closes fire with {done}
         20:40 Ines sees hall
         21:00 Ines ends and signs"
    );
    check("unknown_odour_closed", &night, expected);
}

const SMELL: &str = "20:10 Ines finds fire in hall: Smell of varnish";

/// Looking again once it is closed is looking too late; in the minute of the closing it is not.
#[test]
fn the_second_look_comes_before_the_closing() {
    odour(
        &format!("20:05 Ines sees hall\n{SMELL}"),
        "nothing-found",
        expect![[r#"
        Broken hall 20:10-20:30 {"cause_found":false,"looked_again":false,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
    "#]],
    );
    odour(
        &format!("{SMELL}\n20:30 Ines sees hall"),
        "nothing-found",
        expect![[r#"
        Look hall 20:10-20:30 {"cause_found":false,"looked_again":true,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
    "#]],
    );
}

/// A second look that was only written down counts, beside other things that were done.
#[test]
fn a_second_look_that_was_written() {
    odour(
        &format!(
            "{SMELL}\n20:12 Ines does left-area about fire\n20:20 Ines does looked-again about fire"
        ),
        "cause-found",
        expect![[""]],
    );
}

/// A call in a drill, or about something earlier, says nothing about this odour.
#[test]
fn only_a_call_about_it_settles_it() {
    odour(
        &format!(
            "{SMELL}
             20:12 Ines begins a drill
             20:13 Ines calls the fire service
             20:20 Ines ends the drill"
        ),
        "nothing-found",
        expect![[r#"
            Broken hall 20:10-20:30 {"cause_found":false,"looked_again":false,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
        "#]],
    );
    odour(
        &format!(
            "20:02 Ines calls the fire service
             20:05 Ines sees the engine
             20:06 Ines says it is over
             {SMELL}"
        ),
        "nothing-found",
        expect![[r#"
            Broken hall 20:10-20:30 {"cause_found":false,"looked_again":false,"open_s":1200} on 20:10 20:30 sealed after 0 s [ours]
        "#]],
    );
}

#[test]
fn a_full_chute_needs_no_cause() {
    check(
        "unknown_odour_closed",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         20:00 Ines begins
         20:10 Ines finds rubbish in hall: Full chute
         20:12 Ines closes rubbish with cleared
         21:00 Ines ends and signs",
        expect![[""]],
    );
}
