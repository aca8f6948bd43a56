//! Which watch an outage calls for. Cases T1 to T7 of the published values they cite.

use super::*;
use expect_test::expect;

fn nfpa_101(edition: u16, rest: &str) -> String {
    format!("profile = \"NFPA 101 {edition}\"\nzone = \"America/Chicago\"\n{rest}")
}

fn out(system: &str, from: &str, to: Option<&str>) -> String {
    let to = to.map(|to| format!("to = \"{to}\"\n")).unwrap_or_default();
    format!("[[outage]]\nsystem = \"{system}\"\nfrom = \"{from}\"\n{to}")
}

/// NFPA 101 9.6.1.6: more than 4 hours in a 24-hour period. Four hours exactly is not more.
#[test]
fn alarm_four_hours_is_not_more_than_four() {
    let outage = out("fire-alarm", "2026-03-01T22:00:00", None);
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-02T02:00:00\"\n{outage}")),
        expect![[r#"
        none_found
        owed from 2026-03-02 02:00:00-06:00 if it lasts
    "#]],
    );
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-02T02:00:01\"\n{outage}")),
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        instead evacuate
    "#]],
    );
}

/// The same clause: hours add up within any 24 hours.
#[test]
fn alarm_hours_add_up() {
    let first = out("fire-alarm", "2026-03-01T18:00:00", Some("2026-03-01T20:30:00"));
    let second = out("fire-alarm", "2026-03-01T23:00:00", None);
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-02T01:00:00\"\n{first}{second}")),
        expect![[r#"
        yes since 2026-03-02 00:30:00-06:00
        instead evacuate
    "#]],
    );
}

/// NFPA 25 15.5.2: more than 10 hours; under the editions up to 2006, 4 hours (9.7.6.1).
#[test]
fn sprinkler_ten_hours_or_four_by_edition() {
    let outage = out("sprinkler", "2026-03-01T08:00:00", None);
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-01T18:00:00\"\n{outage}")),
        expect![[r#"
        none_found
        owed from 2026-03-01 18:00:00-06:00 if it lasts
    "#]],
    );
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-01T19:00:00\"\n{outage}")),
        expect![[r#"
        yes since 2026-03-01 18:00:00-06:00
        instead evacuate, temporary-supply, ignition-control
    "#]],
    );
    check(
        &nfpa_101(2006, &format!("at = \"2026-03-01T14:00:00\"\n{outage}")),
        expect![[r#"
        yes since 2026-03-01 12:00:00-06:00
        instead evacuate
    "#]],
    );
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-01T14:00:00\"\n{outage}")),
        expect![[r#"
        none_found
        owed from 2026-03-01 18:00:00-06:00 if it lasts
    "#]],
    );
}

/// 22:00 to 01:00 and the next day 21:00 to 24:00: four hours in the worst window, derived by hand.
#[test]
fn only_part_of_yesterday_counts() {
    let first = out("fire-alarm", "2026-03-01T22:00:00", Some("2026-03-02T01:00:00"));
    let second = out("fire-alarm", "2026-03-02T21:00:00", Some("2026-03-03T00:00:00"));
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-03T00:00:00\"\n{first}{second}")),
        expect![[r#"
        none_found
    "#]],
    );
}

/// Alabama State Fire Marshal, Fire Watch Program: 15 minutes where people sleep, 30 otherwise. It states no trigger.
#[test]
fn alabama_fifteen_where_people_sleep() {
    let facts = |building: &str| {
        let outage = out("fire-alarm", "2026-03-01T22:00:00", None);
        format!(
            "profile = \"Alabama\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n[building]\n{building}\n{outage}"
        )
    };
    check(
        &facts("occupancy = \"R-1\"\nsleeping = true"),
        expect![[r#"
            authority
            gap all 900 s [code: Alabama frequency of patrols]
            other duties not allowed [code: Alabama no other duties]
            write site-address, round-time, name, notes
        "#]],
    );
    check(
        &facts("occupancy = \"S-1\""),
        expect![[r#"
            authority
            gap all 1800 s [code: Alabama frequency of patrols]
            other duties not allowed [code: Alabama no other duties]
            write site-address, round-time, name, notes
        "#]],
    );
    check(
        &facts("# nothing is known of the building"),
        expect![[r#"
            authority
            gap all 900 s [code: Alabama frequency of patrols]
            other duties not allowed [code: Alabama no other duties]
            write site-address, round-time, name, notes
        "#]],
    );
}

/// A restored system ends the watch; the page still tells that one was owed.
#[test]
fn restored_is_over_and_told() {
    let outage = out("fire-alarm", "2026-03-01T22:00:00", Some("2026-03-02T03:00:00"));
    let facts = nfpa_101(2012, &format!("at = \"2026-03-02T04:00:00\"\n{outage}"));
    expect![[r#"
        none_found
        because Out of service, fire alarm: a watch was owed from 2026-03-02 02:00 -06:00 to 2026-03-02 03:00 -06:00, when it was restored.
    "#]].assert_eq(&told_with_reasons(&facts));
    let at_restoration = facts.replace("T04:00:00", "T03:00:00");
    check(
        &at_restoration,
        expect![[r#"
        yes since 2026-03-02 02:00:00-06:00
        instead evacuate
    "#]],
    );
}

/// Two hours more on the same day are owed from their first minute: the hours of the night still count.
#[test]
fn out_again_within_the_day_is_owed_at_once() {
    let first = out("fire-alarm", "2026-03-01T22:00:00", Some("2026-03-02T03:00:00"));
    let again = out("fire-alarm", "2026-03-02T09:00:00", None);
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-02T09:00:01\"\n{first}{again}")),
        expect![[r#"
        yes since 2026-03-02 09:00:00-06:00
        instead evacuate
    "#]],
    );
}

/// Two reports of one loss count once.
#[test]
fn overlapping_reports_count_once() {
    let first = out("fire-alarm", "2026-03-01T22:00:00", Some("2026-03-02T00:30:00"));
    let second = out("fire-alarm", "2026-03-01T23:00:00", None);
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-02T02:00:00\"\n{first}{second}")),
        expect![[r#"
            none_found
            owed from 2026-03-02 02:00:00-06:00 if it lasts
        "#]],
    );
}

/// An outage that is still to come owes nothing yet, and its countdown is told.
#[test]
fn a_planned_outage_has_a_countdown() {
    let planned = out("sprinkler", "2026-03-02T08:00:00", Some("2026-03-02T20:00:00"));
    check(
        &nfpa_101(2012, &format!("at = \"2026-03-02T06:00:00\"\n{planned}")),
        expect![[r#"
        none_found
        owed from 2026-03-02 18:00:00-06:00 if it lasts
    "#]],
    );
}

/// However far ahead it begins: four hours after the beginning (NFPA 101 9.6.1.6), summer time by then (tz database).
#[test]
fn an_outage_planned_for_next_week_has_a_countdown_too() {
    let planned = out("fire-alarm", "2026-03-09T08:00:00", None);
    check(
        &nfpa_101(2018, &format!("at = \"2026-03-02T06:00:00\"\n{planned}")),
        expect![[r#"
        none_found
        owed from 2026-03-09 12:00:00-05:00 if it lasts
    "#]],
    );
}

/// NFPA 101 9.6.1.6, "more than four hours": the instant of restoration still counts, the next second does not.
#[test]
fn the_instant_of_restoration_still_counts() {
    let required = |at: &str| {
        let outage = out("fire-alarm", "2026-03-01T22:00:00", Some("2026-03-02T03:00:00"));
        let told = told(&nfpa_101(2012, &format!("at = \"{at}\"\n{outage}")));
        told.lines().next().unwrap_or_default().to_owned()
    };
    assert_eq!(required("2026-03-02T03:00:00"), "yes since 2026-03-02 02:00:00-06:00");
    assert_eq!(required("2026-03-02T03:00:01"), "none_found");
}
