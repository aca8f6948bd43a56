//! The program on the bundles of nights: what a person reads, and what a program reads.

use expect_test::{Expect, expect};
use std::path::PathBuf;
use std::process::Command;

fn bundle_of(night: &str, change: impl Fn(&mut night::Record)) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../../fixtures/nights")
        .join(format!("{night}.night"));
    let mut record = night::tell(&std::fs::read_to_string(path).unwrap()).unwrap();
    change(&mut record);
    let out = std::env::temp_dir().join(format!("rattlewatch-{}-{night}.zip", std::process::id()));
    std::fs::write(&out, record.bundle().unwrap()).unwrap();
    out
}

fn run(bundle: &PathBuf, args: &[&str]) -> (String, Option<i32>) {
    let program = env!("CARGO_BIN_EXE_rattlewatch");
    let output = Command::new(program).arg("findings").arg(bundle).args(args).output().unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code())
}

fn check(night: &str, args: &[&str], expected: Expect) {
    let bundle = bundle_of(night, |_| {});
    let (out, code) = run(&bundle, args);
    std::fs::remove_file(bundle).unwrap();
    expected.assert_eq(&format!("{}ends with {code:?}\n", out.replace('\u{a0}', " ")));
}

#[test]
fn a_kept_night() {
    check(
        "kept",
        &[],
        expect![[r#"
        Nothing found that was not kept.
        ends with Some(0)
    "#]],
    );
    check(
        "kept",
        &["--all"],
        expect![[r#"
        kept     Kitchen: every gap within 30 min.
                 [unseen_gap; Gannet Hotel post orders 2 (own house); 2 lines]
        kept     Guest floor: every gap within 15 min.
                 [unseen_gap; Gannet Hotel post orders 2 (own house); 1 line]
        ends with Some(0)
    "#]],
    );
}

#[test]
fn an_offline_night_is_kept_and_sealed_late() {
    check(
        "offline",
        &["--all"],
        expect![[r#"
        kept     Hall: every gap within 30 min. Sealed 6 h 5 min after it was written.
                 [unseen_gap; house rule (own house); 2 lines]
        kept     Cellar: every gap within 30 min. Sealed 5 h 58 min after it was written.
                 [unseen_gap; house rule (own house); 2 lines]
        ends with Some(0)
    "#]],
    );
}

#[test]
fn a_late_round_in_both_languages() {
    check(
        "late-round",
        &[],
        expect![[r#"
        broken   Stair b: unseen 26 min from 20:32 to 20:58, 15 min allowed.
                 It may also be: a look that was not written down, a phone that was never handed in, or an emergency elsewhere.
                 [unseen_gap; Order 26-118 (authority); 2 lines]
        ends with Some(1)
    "#]],
    );
    check(
        "late-round",
        &["--language", "es"],
        expect![[r#"
        incumplido Stair b: sin ver 26 min, de 20:32 a 20:58; permitido 15 min.
                 También puede ser: una mirada que no se escribió, un teléfono que nunca se entregó, o una emergencia en otro lugar.
                 [unseen_gap; Order 26-118 (autoridad); 2 líneas]
        ends with Some(1)
    "#]],
    );
    check(
        "late-round",
        &["--json"],
        expect![[r#"
        [
          {
            "from": "2026-02-12T20:32:00+00:00",
            "lines": [
              "01fe32ec8874aaac6bbb228844e605f5e9e7a7559a4e7b0d6f8c4f3db93b10b0",
              "0fb6208899ccc22f46df6752cb06c5267cf73f31a88b4c329032a4f89859e17e"
            ],
            "may_also_be": "It may also be: a look that was not written down, a phone that was never handed in, or an emergency elsewhere.",
            "rule": "unseen_gap",
            "says": "Stair b: unseen 26 min from 20:32 to 20:58, 15 min allowed.",
            "sealed_after_s": 0,
            "source": "Order 26-118 (authority)",
            "to": "2026-02-12T20:58:00+00:00",
            "verdict": "broken",
            "zone": "stair-b"
          }
        ]
        ends with Some(1)
    "#]],
    );
}

#[test]
fn an_emergency_breaks_nothing_and_is_said() {
    check(
        "emergency",
        &[],
        expect![[r#"
        look     Rounds stopped for the emergency from 20:33 to 20:47 (14 min).
                 It may also be: an emergency had to be met first.
                 [rounds_stopped; our own rule, not a demand of any code; 6 lines]
        ends with Some(0)
    "#]],
    );
}

#[test]
fn a_relief_and_a_tail_over_midnight() {
    check(
        "relief",
        &[],
        expect![[r#"
        Nothing found that was not kept.
        ends with Some(0)
    "#]],
    );
    check(
        "tail-over-midnight",
        &[],
        expect![[r#"
        Nothing found that was not kept.
        ends with Some(0)
    "#]],
    );
}

#[test]
fn the_nights_of_the_demo() {
    check(
        "gannet-hotel",
        &[],
        expect![[r#"
        broken   Guest floor 2: unseen 26 min from 23:50 to 00:16, 15 min allowed.
                 It may also be: a look that was not written down, a phone that was never handed in, or an emergency elsewhere.
                 [unseen_gap; Gannet fire marshal, fire watch guideline 2025 (code); 2 lines]
        ends with Some(1)
    "#]],
    );
    check(
        "gannet-quay",
        &[],
        expect![[r#"
        Nothing found that was not kept.
        ends with Some(0)
    "#]],
    );
}

#[test]
fn a_bundle_that_does_not_verify_says_so_on_the_first_line() {
    let bundle = bundle_of("late-round", |record| {
        record.lines.remove(8);
    });
    let (out, code) = run(&bundle, &[]);
    std::fs::remove_file(bundle).unwrap();
    assert!(out.starts_with("THIS BUNDLE DOES NOT VERIFY"), "{out}");
    assert_eq!(code, Some(1));
}
