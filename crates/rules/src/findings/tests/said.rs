//! What a finding says to people, in both languages: what cannot be judged never reads as a breach.

use super::judged;
use crate::say::{Names, Reader};
use expect_test::{Expect, expect};
use words::Lang;

fn check(rule: &str, night: &str, expected: Expect) {
    said(rule, night, false, expected);
}

fn said(rule: &str, night: &str, dated: bool, expected: Expect) {
    let (record, findings) = judged(night);
    let names = Names::default();
    let mut said = String::new();
    for finding in findings.iter().filter(|finding| finding.rule() == rule) {
        for lang in [Lang::En, Lang::Es] {
            let reader = Reader { lang, names: &names, tz_min: record.tz_min, dated };
            said.push_str(&reader.finding(finding));
            said.push('\n');
        }
    }
    expected.assert_eq(&said);
}

/// Hot work of a phone that is not heard from any more, in a watch that goes on.
const NOT_HEARD: &str = "watch: 15:00
    people: Ines, Omar
    gap hall: 6 h
    first round: 15 min
    phone of Ines: offline 16:21 to never
    15:00 Ines begins
    15:05 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
    15:10 Ines notes hot work in hall
    16:00 Ines sees the last spark
    16:20 Ines takes a break
    17:30 the desk notes: No answer";

/// Hot work and a first round of a phone whose clock was set back without signal.
const SET_BACK: &str = "watch: 15:00 to 20:00
    gap hall: 6 h
    first round: 15 min
    phone of Ines: offline 15:02 to 19:30
    15:00 Ines begins
    15:20 Ines reads a permit for hall, watch 60 min, looks 60 min every 20 min
    15:30 Ines notes hot work in hall
    15:55 the phone of Ines is set back 30 min
    16:00 Ines sees the last spark
    18:00 Ines closes the hot work
    20:00 Ines ends and signs";

#[test]
fn what_a_silent_phone_may_still_hold() {
    check(
        "tail_short",
        NOT_HEARD,
        expect![[r#"
            Nobody is known to have stayed after the last spark as long as owed (1 h); not heard from the phone since 16:20.
            No se sabe que alguien se quedara tras la última chispa el tiempo debido (1 h); sin noticias del teléfono desde 16:20.
        "#]],
    );
    check(
        "look_back_missed",
        NOT_HEARD,
        expect![[r#"
            No look at the place of the hot work since 17:00, every 20 min owed; not heard from the phone since 16:20, which may hold one.
            No consta ninguna mirada al lugar del trabajo en caliente desde 17:00 (se debía una cada 20 min); sin noticias del teléfono desde 16:20, que puede guardar una.
        "#]],
    );
}

#[test]
fn what_a_clock_that_was_set_back_cannot_show() {
    check(
        "first_round_late",
        SET_BACK,
        expect![[r#"
        Whether the first round of p-ines came in time cannot be judged: the phone's clocks conflict.
        No se puede juzgar si la primera ronda de p-ines llegó a tiempo: los relojes del teléfono se contradicen.
    "#]],
    );
    check(
        "tail_short",
        SET_BACK,
        expect![[r#"
        Whether the watch after the last spark lasted the 1 h owed cannot be judged: the phone's clocks conflict.
        No se puede juzgar si la vigilancia tras la última chispa duró 1 h, como se debía: los relojes del teléfono se contradicen.
    "#]],
    );
    check(
        "look_back_missed",
        SET_BACK,
        expect![[r#"
            Looks at the place of the hot work from 16:30 to 17:30 (1 h), every 20 min owed, cannot be judged: the phone's clocks conflict.
            No se pueden juzgar las miradas al lugar del trabajo en caliente de 16:30 a 17:30 (1 h; se debía una cada 20 min): los relojes del teléfono se contradicen.
        "#]],
    );
}

/// In a watch of many days 02:10 is no instant.
#[test]
fn a_watch_of_many_days_tells_dates() {
    let night = "watch: 23:00 to 01:00
        gap hall: 30 min
        23:00 Ines begins
        23:10 Ines sees hall
        00:20 Ines sees hall
        00:50 Ines sees hall
        01:00 Ines ends and signs";
    said(
        "unseen_gap",
        night,
        true,
        expect![[r#"
        hall: unseen 1 h 10 min from 23:10 on 10 February to 00:20 on 11 February, 30 min allowed.
        hall: sin ver 1 h 10 min, de 23:10 del 10 de febrero a 00:20 del 11 de febrero; permitido 30 min.
    "#]],
    );
}
