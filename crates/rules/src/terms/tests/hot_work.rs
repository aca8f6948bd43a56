//! Watching after the last spark. Cases T13 to T15, T17 and T25 of the published values they cite.

use super::*;
use expect_test::expect;

fn ended_at_16(profile: &str, rest: &str) -> String {
    format!(
        "profile = {profile}\nzone = \"America/Chicago\"\nat = \"2026-03-01T16:10:00\"\n[[hot_work]]\nlast_spark = \"2026-03-01T16:00:00\"\n{rest}"
    )
}

/// 29 CFR 1910.252(a)(2)(iii)(B): half an hour. The same in 1915.504(c)(2) without a survey and in IFC 2018 3504.2.1.
#[test]
fn half_an_hour_by_osha_shipyard_and_ifc_2018() {
    check(
        &ended_at_16("\"29 CFR 1910\"", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
        watch until 2026-03-01 16:30:00-06:00
    "#]],
    );
    check(
        &ended_at_16("\"29 CFR 1915\"", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
        watch until 2026-03-01 16:30:00-06:00
        other duties not allowed [code: 29 CFR 1915 (c)(1)]
    "#]],
    );
    check(
        &ended_at_16("\"IFC 2018\"", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
        retain 172800 [code: IFC 2018 3503.3, 3503.5, 3504.3.1]
        watch until 2026-03-01 16:30:00-06:00
    "#]],
    );
}

/// NFPA 51B, 30 minutes up to 2014 and 60 from 2019, from memory.
#[test]
fn an_hour_by_nfpa_51b_from_2019() {
    check(
        &ended_at_16("\"NFPA 51B 2014\"", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
        watch until 2026-03-01 16:30:00-06:00
    "#]],
    );
    check(
        &ended_at_16("\"NFPA 51B 2019\"", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 17:00:00-06:00
        watch until 2026-03-01 17:00:00-06:00
    "#]],
    );
}

/// Joint Code of Practice, 10th edition, 16.15: an hour without a break, then checks every 20 minutes for a further hour.
#[test]
fn joint_code_an_hour_and_three_checks() {
    check(
        &ended_at_16("\"UK Joint Code 10th edition\"", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 18:00:00-06:00
        watch until 2026-03-01 17:00:00-06:00
        checks every 1200 s until 2026-03-01 18:00:00-06:00: 17:20 17:40 18:00
        ended by responsible-person
    "#]],
    );
}

/// 29 CFR 1926.352(e) states a sufficient period and no minutes.
#[test]
fn construction_rule_has_no_end_time() {
    check(
        &ended_at_16("\"29 CFR 1926\"", ""),
        expect![[r#"
        authority
    "#]],
    );
}

#[test]
fn a_known_tail_does_not_hide_an_uncertain_one() {
    check(
        &ended_at_16("[\"29 CFR 1910\", \"29 CFR 1926\"]", ""),
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00
        uncertain, at least until 2026-03-01 16:30:00-06:00
    "#]],
    );
    let later = ended_at_16("[\"29 CFR 1910\", \"29 CFR 1926\"]", "").replace("T16:10", "T18:00");
    check(
        &later,
        expect![[r#"
        authority
        uncertain, at least until 2026-03-01 16:30:00-06:00
    "#]],
    );
}

/// 29 CFR 1915.504(c)(2): the survey lets the watch end.
#[test]
fn a_recorded_survey_ends_the_shipyard_watch() {
    let facts = ended_at_16("\"29 CFR 1915\"", "surveyed = true");
    expect![[r#"
        none_found
        other duties not allowed [code: 29 CFR 1915 (c)(1)]
        because The place was surveyed after the work and no further hazard found: this source lets the watch end. Keep the survey.
    "#]].assert_eq(&told_with_reasons(&facts));
}

/// 29 CFR 1910.252(a)(2)(iii)(A): closer than 35 ft, which is 10.668 m.
#[test]
fn closer_than_35_feet_is_strict() {
    let elsewhere = "easily_ignited = false\nopenings_m = 30.0\nmetal_partition = false";
    check(
        &ended_at_16("\"29 CFR 1910\"", &format!("combustibles_m = 10.637\n{elsewhere}")),
        expect![[r#"
            yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
            watch until 2026-03-01 16:30:00-06:00
        "#]],
    );
    check(
        &ended_at_16("\"29 CFR 1910\"", &format!("combustibles_m = 10.668\n{elsewhere}")),
        expect![[r#"
            authority
            watch until 2026-03-01 16:30:00-06:00
        "#]],
    );
}

#[test]
fn after_the_tail_nothing_is_owed() {
    let later = ended_at_16("\"29 CFR 1910\"", "").replace("T16:10:00", "T16:30:01");
    check(
        &later,
        expect![[r#"
            none_found
            watch until 2026-03-01 16:30:00-06:00
        "#]],
    );
    let last_instant = ended_at_16("\"29 CFR 1910\"", "").replace("T16:10", "T16:30");
    check(
        &last_instant,
        expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
        watch until 2026-03-01 16:30:00-06:00
    "#]],
    );
}

/// IFC 2018 3501.3 and 3504.1.8: the official approves hot work where sprinklers are out.
#[test]
fn hot_work_where_sprinklers_are_out_is_a_conflict() {
    let facts = ended_at_16(
        "\"IFC 2018\"",
        "[[outage]]\nsystem = \"sprinkler\"\nfrom = \"2026-03-01T12:00\"",
    );
    expect![[r#"
        yes since 2026-03-01 16:00:00-06:00
        retain 172800 [code: IFC 2018 3503.3, 3503.5, 3504.3.1]
        watch until 2026-03-01 16:30:00-06:00
        other duties not allowed [code: IFC 2018 901.7]
        because Last spark 2026-03-01 16:00 -06:00: watched until 2026-03-01 16:30 -06:00.
        because Out of service, sprinklers: the source knows no hours. Tell at once; the authority decides.
        because Conflict: hot work where sprinklers are out needs the leave of the authority before it begins.
        because Calls for a watch: hot work.
        because The source asks for constant patrols and states no interval.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&facts));
}

/// Sprinklers without water are impaired sprinklers; an alarm that is out is not.
#[test]
fn without_water_the_sprinklers_are_impaired() {
    let conflicts = |system: &str| {
        let outage = format!("[[outage]]\nsystem = \"{system}\"\nfrom = \"2026-03-01T12:00\"");
        told_with_reasons(&ended_at_16("\"IFC 2018\"", &outage)).contains("Conflict")
    };
    assert!(conflicts("water-supply"));
    assert!(!conflicts("fire-alarm"));
}

/// The airport's notice asks for four hours after hot work during an impairment, of whatever system.
#[test]
fn four_hours_after_hot_work_during_any_impairment() {
    let tail = |outage: &str| {
        let facts = ended_at_16("\"Brisbane Airport impairment notice\"", outage);
        told(&facts).contains("watch until 2026-03-01 20:00:00-06:00")
    };
    assert!(tail("[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T12:00\""));
    let restored = "[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T10:00\"\nto = \"2026-03-01T11:00\"";
    assert!(!tail(restored));
}

/// One more source never spares a watch: the hour of NFPA 51B stands beside what 29 CFR 1926 leaves to the employer.
#[test]
fn a_source_that_leaves_it_open_takes_nothing_from_one_that_asks() {
    let first = |profile: &str| {
        let told = told(&ended_at_16(profile, ""));
        told.lines().next().unwrap_or_default().to_owned()
    };
    assert_eq!(first("\"29 CFR 1926\""), "authority");
    let both = first("[\"29 CFR 1926\", \"NFPA 51B 2019\"]");
    assert_eq!(both, "yes since 2026-03-01 16:00:00-06:00");
}

/// A job without a last spark runs: no end can be told.
#[test]
fn running_work_has_no_end_yet() {
    let facts = "profile = \"29 CFR 1910\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T16:10:00\"\n[[hot_work]]\nbegan = \"2026-03-01T14:00\"";
    check(
        facts,
        expect![[r#"
        yes since 2026-03-01 14:00:00-06:00
    "#]],
    );
}

/// Two places: the later tail is the end.
#[test]
fn the_last_place_decides() {
    check(
        &ended_at_16("\"29 CFR 1910\"", "[[hot_work]]\nlast_spark = \"2026-03-01T15:00\""),
        expect![[r#"
            yes since 2026-03-01 15:00:00-06:00 until 2026-03-01 16:30:00-06:00
            watch until 2026-03-01 16:30:00-06:00
        "#]],
    );
}

/// FM Data Sheet 10-3: the cells of the table were not retrieved, so they are left out and the answer is open.
#[test]
fn a_value_left_out_is_listed_and_leaves_it_open() {
    let facts = ended_at_16("\"FM 10-3 2017\"", "");
    check(
        &facts,
        expect![[r#"
        authority
    "#]],
    );
    let left_out = Terms::of(
        &facts::read(&facts, Standards::embedded()).expect("facts"),
        Standards::embedded(),
    )
    .left_out;
    assert_eq!(left_out.len(), 2);
}

/// 29 CFR 1910.252(a)(2)(iii)(A): with nothing stated the watch is owed; one fact that could spare it leaves it to the employer
/// while the others are unknown; one that holds decides, and the others are not asked.
#[test]
fn one_fact_about_the_place_is_enough_to_ask_for_the_others() {
    let first = |fact: &str| {
        let facts = ended_at_16("\"29 CFR 1910\"", fact);
        told(&facts).lines().next().unwrap_or_default().to_owned()
    };
    let owed = "yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00";
    assert_eq!(first(""), owed);
    for fact in [
        "combustibles_m = 20.0",
        "openings_m = 20.0",
        "easily_ignited = false",
        "metal_partition = false",
    ] {
        assert_eq!(first(fact), "authority", "{fact}");
    }
    // 35 ft is 10.668 m: an opening at that very distance is within it.
    for fact in [
        "combustibles_m = 10.0",
        "openings_m = 10.668",
        "easily_ignited = true",
        "metal_partition = true",
    ] {
        assert_eq!(first(fact), owed, "{fact}");
    }
    assert_eq!(first("openings_m = 10.669"), "authority");
    expect![[r#"
        yes since 2026-03-01 16:00:00-06:00 until 2026-03-01 16:30:00-06:00
        watch until 2026-03-01 16:30:00-06:00
        because Last spark 2026-03-01 16:00 -06:00: watched until 2026-03-01 16:30 -06:00.
        because Calls for a watch: hot work.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]]
        .assert_eq(&told_with_reasons(&ended_at_16("\"29 CFR 1910\"", "combustibles_m = 10.0")));
    expect![[r#"
        authority
        watch until 2026-03-01 16:30:00-06:00
        because Last spark 2026-03-01 16:00 -06:00: watched until 2026-03-01 16:30 -06:00.
        because By the facts stated, its condition does not hold: hot work.
        because Not stated: hot_work.easily_ignited. The source depends on it (hot work); the stricter reading is taken.
        because Not stated: hot_work.openings_m. The source depends on it (hot work); the stricter reading is taken.
        because Not stated: hot_work.metal_partition. The source depends on it (hot work); the stricter reading is taken.
        because Hot work: the source leaves it to the employer.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]]
        .assert_eq(&told_with_reasons(&ended_at_16("\"29 CFR 1910\"", "combustibles_m = 20.0")));
}

/// NFPA 101 as read so far says nothing about hot work, nor does a city that speaks of outages: nobody is told that none is owed.
#[test]
fn hot_work_without_a_rule_is_the_authoritys() {
    for rest in ["", "surveyed = true"] {
        check(
            &ended_at_16("\"NFPA 101 2012\"", rest),
            expect![[r#"
                authority
            "#]],
        );
    }
    expect![[r#"
        authority
        because The sources asked say nothing about this: hot work. The authority decides.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&ended_at_16("\"NFPA 101 2012\"", "")));
}

/// City of Vancouver, fire watch: hot work calls for a watch and no time after it is stated. While the work runs, the instant of
/// the last spark left out, one is owed; then it is the authority's, until somebody has surveyed the place.
#[test]
fn a_rule_about_the_work_and_none_about_the_time_after() {
    let first = |at: &str, rest: &str| {
        let facts = ended_at_16("\"Vancouver, British Columbia\"", rest).replace("T16:10:00", at);
        told(&facts).lines().next().unwrap_or_default().to_owned()
    };
    assert_eq!(first("T15:59:59", ""), "yes since 2026-03-01 16:00:00-06:00");
    assert_eq!(first("T16:00:00", ""), "authority");
    assert_eq!(first("T16:10:00", ""), "authority");
    assert_eq!(first("T16:10:00", "surveyed = true"), "none_found");
    expect![[r#"
        authority
        ended by fire-department or technician
        because The sources asked say nothing about this: watch after hot work. The authority decides.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]]
        .assert_eq(&told_with_reasons(&ended_at_16("\"Vancouver, British Columbia\"", "")));
}

/// The page says which tail has ended and by whose clause, and of two sources only that lets a survey end the watch which says so.
#[test]
fn what_ended_a_tail_is_told() {
    let later = ended_at_16("\"29 CFR 1910\"", "").replace("T16:10:00", "T16:30:01");
    expect![[r#"
        none_found
        watch until 2026-03-01 16:30:00-06:00
        because Last spark 2026-03-01 16:00 -06:00: watched until 2026-03-01 16:30 -06:00.
        because The time after hot work ended 2026-03-01 16:30 -06:00.
    "#]]
    .assert_eq(&told_with_reasons(&later));
    let both =
        |rest: &str| told_with_reasons(&ended_at_16("[\"29 CFR 1910\", \"29 CFR 1915\"]", rest));
    let surveyed = "further hazard found";
    assert_eq!(both("surveyed = true").matches(surveyed).count(), 1, "{}", both("surveyed = true"));
    for unsurveyed in ["", "surveyed = false"] {
        assert_eq!(both(unsurveyed).matches(surveyed).count(), 0, "{}", both(unsurveyed));
        assert!(!both(unsurveyed).contains("Not stated: hot_work.last_spark"));
    }
}

/// Two pieces of work that run under 29 CFR 1926.352(e) want one number, and the page asks for it once.
#[test]
fn one_number_is_asked_for_once() {
    let facts = "profile = \"29 CFR 1926\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T16:10:00\"\n[[hot_work]]\nbegan = \"2026-03-01T14:00\"\n[[hot_work]]\nbegan = \"2026-03-01T15:00\"";
    let told = told_with_reasons(facts);
    assert_eq!(
        told.matches("Watch after hot work: the source states no number").count(),
        1,
        "{told}"
    );
}

/// IFC 2018 3501.3: sprinklers that are out where hot work is, at any time from its beginning to its last spark, both ends
/// included, or by what is stated. Other systems, and what was out before or is out after, are no conflict.
#[test]
fn an_outage_meets_the_work_in_time() {
    let conflict = |work: &str, outage: &str, at: &str| {
        let facts = format!(
            "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T{at}\"\n[[hot_work]]\n{work}\n{outage}"
        );
        told_with_reasons(&facts).contains("Conflict")
    };
    let out = |system: &str, from: &str, to: &str| {
        let to = if to.is_empty() { String::new() } else { format!("to = \"2026-03-01T{to}\"\n") };
        format!("[[outage]]\nsystem = \"{system}\"\nfrom = \"2026-03-01T{from}\"\n{to}")
    };
    let work = "began = \"2026-03-01T14:00\"\nlast_spark = \"2026-03-01T16:00\"";
    let runs = "began = \"2026-03-01T14:00\"";
    let spark = "last_spark = \"2026-03-01T16:00\"";
    let cases = [
        (work, "sprinkler", "12:00", "", true),
        (work, "sprinkler", "12:00", "13:59", false),
        (work, "sprinkler", "12:00", "14:00", true),
        (work, "sprinkler", "15:00", "15:30", true),
        (work, "sprinkler", "16:00", "", true),
        (work, "sprinkler", "16:01", "", false),
        (work, "fire-alarm", "12:00", "", false),
        (runs, "sprinkler", "16:10", "", true),
        (runs, "sprinkler", "16:11", "18:00", false),
        (runs, "sprinkler", "12:00", "13:59", false),
        (spark, "sprinkler", "15:00", "16:05", true),
        (spark, "sprinkler", "16:01", "", false),
    ];
    for (work, system, from, to, expected) in cases {
        assert_eq!(
            conflict(work, &out(system, from, to), "16:10"),
            expected,
            "{work} {system} {from} {to}"
        );
    }
    // Planned work has no beginning before now.
    assert!(conflict("began = \"2026-03-01T18:00\"", &out("sprinkler", "12:00", ""), "16:10"));
    assert!(!conflict(
        "began = \"2026-03-01T18:00\"",
        &out("sprinkler", "12:00", "17:00"),
        "16:10"
    ));
    assert!(conflict(&format!("{work}\nimpaired = true"), "", "16:10"));
    assert!(!conflict(work, "", "16:10"));
}

/// A conflict by what is stated: the tail has an end, what the authority decides has none; after the tail that stays open.
#[test]
fn a_conflict_outlasts_the_tail() {
    let facts = ended_at_16("\"IFC 2018\"", "impaired = true");
    let first = |facts: &str| told(facts).lines().next().unwrap_or_default().to_owned();
    assert_eq!(first(&facts), "yes since 2026-03-01 16:00:00-06:00");
    assert_eq!(first(&facts.replace("T16:10:00", "T17:00:00")), "authority");
}
