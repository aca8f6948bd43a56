//! Times that somebody wrote on paper: digits and spacing that people invent, beside those that a clock gives.

use super::{check, judged};
use expect_test::{Expect, expect};
use std::fmt::Write as _;

/// Seven hours from 20:00 on paper; `minutes` after 20:00, one look at the hall each.
fn on_paper(minutes: impl IntoIterator<Item = i64>) -> String {
    let mut night = "watch: 20:00 to 05:00
         gap hall: 9 h
         people: Ines
         20:00 Ines begins
         20:05 the desk allows paper, phone-dead
         "
    .to_owned();
    for minute in minutes {
        let clock = format!("{:02}:{:02}", (20 + minute / 60) % 24, minute % 60);
        writeln!(night, "06:00 the desk types from paper of Ines, {clock} hall").expect("a string");
    }
    night
}

fn says(minutes: impl IntoIterator<Item = i64>, expected: Expect) {
    check("times_by_hand", &on_paper(minutes), expected);
}

/// Minutes as walks of uneven length give them, typed for this test.
#[test]
fn times_from_a_clock_say_nothing() {
    let honest = [
        3, 17, 29, 44, 56, 71, 88, 97, 112, 124, 139, 155, 164, 181, 193, 206, 222, 238, 247, 263,
        271, 289, 302, 318,
    ];
    says(honest, expect![[""]]);
}

/// Of 24 times 11 is the least count of 0 and 5 at 1 %, 10 is not enough (the binomial sum; see `statistics`). No other test
/// has enough times, so there is nothing to correct for.
#[test]
fn eleven_of_twenty_four_end_in_zero_or_five() {
    let night = |fives: i64| {
        (0..24).map(move |n| {
            let last =
                if n < fives { 5 * (n % 2) } else { [1, 2, 3, 4, 6, 7, 8, 9][n as usize % 8] };
            18 * n / 10 * 10 + last
        })
    };
    says(
        night(11),
        expect![[r#"
            Look 20:00-02:59 {"count":11,"level_permille":10,"n":24,"p_ppm":3788,"spread_permille":null,"tests":1,"what":"zero_or_five","who":"p-ines"} on 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 sealed after 0 s [ours]
        "#]],
    );
    says(night(10), expect![[""]]);
}

/// 17 and 23 minutes in turn: as many changes of side as can be.
#[test]
fn short_and_long_in_turn() {
    let turns = (0..25).scan(2, |at, n| {
        *at += if n % 2 == 0 { 17 } else { 23 };
        Some(*at)
    });
    says(
        turns,
        expect![[r#"
            Look 20:19-04:19 {"count":24,"level_permille":10,"n":24,"p_ppm":2,"spread_permille":null,"tests":2,"what":"alternating","who":"p-ines"} on 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 sealed after 0 s [ours]
        "#]],
    );
}

/// Every 20 minutes and not one minute earlier or later.
#[test]
fn evenly_spaced() {
    says(
        (0..20).map(|n| 7 + 20 * n),
        expect![[r#"
            Look 20:07-02:27 {"count":null,"level_permille":10,"n":19,"p_ppm":null,"spread_permille":0,"tests":0,"what":"even","who":"p-ines"} on 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 sealed after 0 s [ours]
        "#]],
    );
}

/// Fifty-two times, every other of which ends in 7: far from five of each digit, and none too many of 0 and 5.
#[test]
fn one_digit_is_preferred() {
    says(
        (0..52).map(|n| 10 * n + if n % 2 == 0 { 7 } else { n % 10 }),
        expect![[r#"
            Look 20:07-04:31 {"count":null,"level_permille":10,"n":52,"p_ppm":0,"spread_permille":null,"tests":3,"what":"last_digits","who":"p-ines"} on 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 sealed after 0 s [ours]
            Look 20:07-04:31 {"count":31,"level_permille":10,"n":51,"p_ppm":1303,"spread_permille":null,"tests":3,"what":"alternating","who":"p-ines"} on 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 06:00 sealed after 0 s [ours]
        "#]],
    );
}

/// What a phone stamped is never tested, whatever its digits.
#[test]
fn stamped_times_are_not_tested() {
    let mut night =
        "watch: 20:00 to 05:00\ngap hall: 9 h\npeople: Ines\n20:00 Ines begins\n".to_owned();
    for n in 1..26 {
        let minute = 20 * n;
        writeln!(night, "{:02}:{:02} Ines sees hall", (20 + minute / 60) % 24, minute % 60)
            .expect("a string");
    }
    let (_, findings) = judged(&night);
    assert!(findings.iter().all(|finding| finding.rule() != "times_by_hand"));
}

/// Eleven even stretches are too few for anything to be said.
#[test]
fn eleven_even_stretches_say_nothing() {
    says((0..12).map(|n| 7 + 20 * n), expect![[""]]);
}

/// Who walks slower towards morning changes sides once, too seldom and not too often: twelve stretches of 13 minutes, then
/// twelve of 19. Inventors do the opposite (Bar-Hillel and Wagenaar 1991), so nothing is said.
#[test]
fn slower_towards_morning_says_nothing() {
    let mut at = 2;
    let slower = (0..25).map(move |n| {
        at += if n < 13 { 13 } else { 19 };
        at
    });
    says(slower, expect![[""]]);
}

/// Twenty looks at the hall and four at the attic between them: the stretches are those of the hall, in the order of their time.
#[test]
fn the_stop_written_down_most_often_is_asked() {
    let mut night = on_paper((0..20).map(|n| 7 + 20 * n))
        .replace("gap hall: 9 h", "gap hall: 9 h\n gap attic: 9 h");
    for minute in [30, 41, 95, 230] {
        let clock = format!("{:02}:{:02}", 20 + minute / 60, minute % 60);
        writeln!(night, "06:00 the desk types from paper of Ines, {clock} attic")
            .expect("a string");
    }
    let (_, findings) = judged(&night);
    let asked: Vec<String> = findings
        .iter()
        .filter(|finding| finding.rule() == "times_by_hand")
        .map(|finding| serde_json::to_string(&finding.facts).unwrap())
        .collect();
    expect![[r#"
        [
            "{\"rule\":\"times_by_hand\",\"facts\":{\"who\":\"p-ines\",\"what\":\"even\",\"n\":19,\"count\":null,\"spread_permille\":0,\"p_ppm\":null,\"level_permille\":10,\"tests\":1}}",
        ]
    "#]].assert_debug_eq(&asked);
}
