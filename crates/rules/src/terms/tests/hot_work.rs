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
