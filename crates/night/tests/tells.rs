//! What a night writes, and what it says about a sentence that it cannot tell.

use expect_test::{Expect, expect};

fn lines(night: &str) -> String {
    let record = night::tell(night).unwrap_or_else(|fault| panic!("{fault}"));
    let mut out = String::new();
    let mut ordered: Vec<_> = record.lines.iter().collect();
    ordered.sort_by_key(|line| line.index);
    for line in ordered {
        let clock = |ms: i64| {
            format!("{:02}:{:02}:{:02}", ms / 3_600_000 % 24, ms / 60_000 % 60, ms / 1000 % 60)
        };
        out.push_str(&format!(
            "{} {} {} sealed {} to {}\n",
            clock(line.line.clk.recorded_ms()),
            line.line.who,
            line.line.kind,
            line.not_before_ms.map_or("-".to_owned(), clock),
            clock(line.rx_ms),
        ));
    }
    out
}

fn check(night: &str, expected: Expect) {
    expected.assert_eq(&lines(night));
}

#[test]
fn a_phone_without_signal_is_sealed_when_it_comes_back() {
    check(
        "gap stair-b: 15 min
         phone of Ines: offline 20:10 to 23:00
         20:01 Ines begins
         20:04:30 Ines sees stair-b
         20:18 Ines sees stair-b",
        expect![[r#"
            19:55:00 p-desk watch_opened sealed 19:55:00 to 19:55:00
            19:55:00 p-desk plan_set sealed 19:55:00 to 19:55:00
            19:55:00 p-desk route_set sealed 19:55:00 to 19:55:00
            19:55:00 p-desk terms_set sealed 19:55:00 to 19:55:00
            19:55:00 p-desk instructions_set sealed 19:55:00 to 19:55:00
            20:01:00 p-ines shift_began sealed 20:01:00 to 20:01:00
            20:04:30 p-ines seen sealed 20:04:00 to 20:04:30
            20:18:00 p-ines seen sealed 20:09:00 to 23:00:00
            23:02:00 p-server sealed sealed 23:02:00 to 23:02:00
        "#]],
    );
}

#[test]
fn the_same_night_gives_the_same_bytes() {
    let ids = |seed: u8| -> Vec<_> {
        let night =
            format!("seed: {seed}\ngap hall: 30 min\n20:01 Ines begins\n20:04 Ines sees hall");
        night::tell(&night).unwrap().lines.iter().map(|line| line.line.id()).collect()
    };
    assert_eq!(ids(1), ids(1));
    assert_ne!(ids(1), ids(2));
}

#[test]
fn a_sentence_that_cannot_be_told_names_the_nearest() {
    let fault = |night: &str| night::tell(night).unwrap_err().to_string();
    let says = [
        fault("gap hall: 30 min\n20:01 Ines begins\n20:04 Ines saw hall"),
        fault("gap hall: 30 min\n20:04 Ines sees attic"),
        fault("gap hall: 30\n20:04 Ines sees hall"),
        fault("gap hall: 30 min\n20:04 Ines sees hall\n20:02 Ines sees hall"),
        fault("people: Ines\ngap hall: 30 min\n20:04 Omar sees hall"),
        fault("gap hall: 30 min\n20:04 Ines finds smells in hall"),
    ];
    expect![[r#"
        line 3: "20:04 Ines saw hall": no sentence of a night; the nearest sentence is: <who> sees <zone>
        line 2: "20:04 Ines sees attic": no zone attic: the head has no `gap attic: …`
        line 1: "gap hall: 30": "30" is no length of time: write 15 min, 90 s or 2 h; the nearest sentence is: gap ZONE: 15 min
        line 3: "20:02 Ines sees hall": times run forward: say `as of` for what happened earlier
        line 3: "20:04 Omar sees hall": "Omar" is nobody here: Ines, the desk
        line 2: "20:04 Ines finds smells in hall": unknown variant `smells`, expected one of `fire`, `exits`, `fire_doors`, `protection`, `access`, `hot_work`, `rubbish`, `flammables`, `heating`, `electrical`, `batteries`, `people`
    "#]]
    .assert_eq(&(says.join("\n") + "\n"));
}

/// The page of the language names every sentence and every key, and its example can be told.
#[test]
fn the_page_of_the_language_is_complete() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/spec/night.md");
    let page = std::fs::read_to_string(path).unwrap();
    for sentence in night::sentences().filter(|sentence| sentence.starts_with('<')) {
        assert!(page.lines().any(|line| line == sentence), "not on the page: {sentence}");
    }
    let example = page.split("```").nth(1).unwrap();
    assert!(night::tell(example).unwrap().lines.len() > 10);
}

/// A photo on a phone that never came back is on that phone only: the bundle holds what its lines name, and verifies.
#[test]
fn a_phone_that_never_comes_back_leaves_a_bundle_that_verifies() {
    let night = "phone of Ines: offline 20:10 to never
         gap hall: 30 min
         20:01 Ines begins
         20:04 Ines sees hall
         20:20 Ines ends and signs
         20:30 the desk releases the watch by the authority in writing";
    let record = night::tell(night).unwrap();
    let kinds: Vec<_> = record.lines.iter().map(|line| line.line.kind.to_string()).collect();
    assert!(!kinds.iter().any(|kind| kind == "shift_ended"), "{kinds:?}");
    let named: std::collections::BTreeSet<_> =
        record.lines.iter().flat_map(|line| bundle::blobs_named(&line.line)).collect();
    assert_eq!(record.blobs.keys().copied().collect::<std::collections::BTreeSet<_>>(), named);
}

/// A time that the kind cannot state is refused, not dropped.
#[test]
fn a_look_states_no_other_time() {
    let night = |sentence: &str| {
        let story = format!("gap hall: 30 min\n20:01 Ines begins\n20:40 Ines sees hall{sentence}");
        night::tell(&story).err().map(|fault| fault.to_string()).unwrap_or_default()
    };
    assert!(night(" as of 20:10").contains("states no other time"), "{}", night(" as of 20:10"));
    assert_eq!(night("\n20:41 Ines corrects the time of the last line as of 20:10"), "");
}

/// The card in a drill is a drill's, until somebody says that it is real.
#[test]
fn stamps_in_a_drill_are_a_drills() {
    let record = night::tell(
        "gap hall: 30 min
         20:01 Ines begins
         20:02 Ines begins a drill
         20:03 Ines sees fire in hall
         20:04 Ines says this is real
         20:05 Ines calls the fire service",
    )
    .unwrap();
    let drills: Vec<_> = record
        .lines
        .iter()
        .filter(|line| line.line.kind == *"emergency")
        .map(|line| line.line.body.get("drill").and_then(|drill| drill.as_bool()).unwrap_or(false))
        .collect();
    assert_eq!(drills, [true, false]);
}
