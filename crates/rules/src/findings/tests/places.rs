//! One person in two places: what is a contradiction and what is not.

use super::check;
use expect_test::{Expect, expect};

fn hour(rule: &str, story: &str, expected: Expect) {
    let night = format!(
        "watch: 20:00 to 21:00
         people: Ines, Omar
         gap hall: 60 min
         gap attic: 60 min
         20:00 Ines begins
         20:00 Omar begins
         {story}
         21:00 Ines ends and signs
         21:00 Omar ends and signs"
    );
    check(rule, &night, expected);
}

/// One zone on two phones, and two zones on one: neither puts anybody in two places.
#[test]
fn two_phones_and_two_zones_make_two_places() {
    hour(
        "two_places",
        "20:10:00 Ines sees hall
         20:10:20 Ines sees hall on the phone of Omar",
        expect![[""]],
    );
    hour(
        "two_places",
        "20:10:00 Ines sees hall
         20:10:20 Ines sees attic",
        expect![[""]],
    );
    hour(
        "two_places",
        "20:10:00 Ines sees hall
         20:10:20 Omar sees attic",
        expect![[""]],
    );
}

/// Paper puts Ines in the attic at 20:30. What her own phone says of another zone in that minute contradicts it; nothing else does.
#[test]
fn what_contradicts_paper() {
    let paper = "22:00 the desk types from paper of Ines, 20:30 attic";
    let with = |phone: &str, expected| {
        let night = format!(
            "watch: 20:00 to 21:00
             people: Ines, Omar
             gap hall: 60 min
             gap attic: 60 min
             20:00 Ines begins
             20:00 Omar begins
             {phone}
             21:00 Ines ends and signs
             21:00 Omar ends and signs
             {paper}"
        );
        check("paper_disagrees", &night, expected);
    };
    with(
        "20:30:40 Ines sees hall",
        expect![[r#"
        Unclear attic 20:30-20:30 {"apart_s":40,"phone":"hall","who":"p-ines"} on 22:00 20:30 sealed after 0 s [ours]
    "#]],
    );
    with(
        "20:29:30 Ines sees hall",
        expect![[r#"
        Unclear attic 20:30-20:30 {"apart_s":30,"phone":"hall","who":"p-ines"} on 22:00 20:29 sealed after 0 s [ours]
    "#]],
    );
    with("20:31:00 Ines sees hall", expect![[""]]);
    with("20:30:40 Omar sees hall", expect![[""]]);
    with("20:30:40 Ines sees attic", expect![[""]]);
    with("20:45:00 Ines sees hall\n20:45:10 Ines sees attic", expect![[""]]);
}

/// Two lines of one sheet in the same minute are two lines of a sheet.
#[test]
fn two_lines_of_one_sheet_agree() {
    hour(
        "paper_disagrees",
        "20:50 the desk types from paper of Ines, 20:30 attic
         20:50 the desk types from paper of Ines, 20:30 hall",
        expect![[""]],
    );
}

/// A stop that comes twice is left from where it is nearest: 30 s of walk from the second, 430 s from the first.
#[test]
fn the_nearest_of_two_places_of_a_stop() {
    check(
        "faster_than_walked",
        "watch: 20:00 to 21:00
         gap hall: 60 min
         gap attic: 60 min
         gap cellar: 60 min
         gap loft: 60 min
         route: hall-1, attic-1, hall-1, cellar-1, loft-1
         legs: 300 s, 200 s, 200 s, 30 s, 300 s
         20:00 Ines begins
         20:05 Ines begins a round
         20:06:00 Ines sees hall
         20:06:30 Ines sees cellar
         20:06:31 Ines sees cellar
         20:20 Ines ends the round
         21:00 Ines ends and signs",
        expect![[""]],
    );
}
