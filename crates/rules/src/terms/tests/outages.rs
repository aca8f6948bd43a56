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

fn first(facts: &str) -> String {
    told(facts).lines().next().unwrap_or_default().to_owned()
}

/// From its first instant to the instant of restoration an outage is one, whether a source knows hours or nothing of the system;
/// one that is over takes nothing from the next, and one ahead is asked about before it begins.
#[test]
fn an_outage_is_one_from_its_first_instant_to_its_last() {
    // IFC 2018 901.7 knows no hours; NFPA 101 as read so far says nothing about smoke control.
    for (profile, system) in [("IFC 2018", "fire-alarm"), ("NFPA 101 2012", "smoke-control")] {
        let required = |at: &str, outages: &str| {
            first(&format!(
                "profile = \"{profile}\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T{at}\"\n{outages}"
            ))
        };
        let one = out(system, "2026-03-02T02:00:00", Some("2026-03-02T03:00:00"));
        assert_eq!(required("02:00:00", &one), "authority", "{profile}");
        assert_eq!(required("03:00:00", &one), "authority", "{profile}");
        assert_eq!(required("03:00:01", &one), "none_found", "{profile}");
        let again = one.clone() + &out(system, "2026-03-02T05:00:00", None);
        assert_eq!(required("05:30:00", &again), "authority", "{profile}");
    }
    let ahead = "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T01:59:59\"\n"
        .to_owned() + &out("fire-alarm", "2026-03-02T02:00:00", None);
    assert_eq!(first(&ahead), "authority");
}

/// What 901.7 asks of the person on watch holds while something is out, from its first instant to its last.
#[test]
fn what_holds_while_a_system_is_out() {
    let duties = |at: &str| {
        let one = out("fire-alarm", "2026-03-02T02:00:00", Some("2026-03-02T03:00:00"));
        let facts = format!(
            "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T{at}\"\n{one}"
        );
        told(&facts).contains("other duties not allowed")
    };
    let at = ["01:59:59", "02:00:00", "03:00:00", "03:00:01"];
    assert_eq!(at.map(duties), [false, true, true, false]);
}

/// The first instant at which a watch will be owed, of all outages planned and of all systems, each by its own hours.
#[test]
fn the_countdown_is_to_the_first() {
    let owed_from = |outages: &str| {
        let told = told(&nfpa_101(2012, &format!("at = \"2026-03-02T06:00:00\"\n{outages}")));
        told.lines().find(|line| line.starts_with("owed from")).unwrap_or_default().to_owned()
    };
    let monday = out("fire-alarm", "2026-03-02T08:00:00", Some("2026-03-02T14:00:00"));
    let friday = out("fire-alarm", "2026-03-06T08:00:00", Some("2026-03-06T14:00:00"));
    let short = out("fire-alarm", "2026-03-02T08:00:00", Some("2026-03-02T09:00:00"));
    let water = out("sprinkler", "2026-03-02T07:00:00", None);
    let by = |at: &str| format!("owed from {at}-06:00 if it lasts");
    assert_eq!(owed_from(&(monday.clone() + &friday)), by("2026-03-02 12:00:00"));
    assert_eq!(owed_from(&(friday.clone() + &monday)), by("2026-03-02 12:00:00"));
    assert_eq!(owed_from(&(short.clone() + &friday)), by("2026-03-06 12:00:00"));
    assert_eq!(owed_from(&(friday + &water)), by("2026-03-02 17:00:00"));
    assert_eq!(owed_from(&(water + &monday)), by("2026-03-02 12:00:00"));
    assert_eq!(owed_from(&short), "");
}

/// Four hours exactly are within the limit, and the page says how many there were in the worst of all days; where one was owed and
/// is over it does not say so of that system.
#[test]
fn within_the_limit_is_told_with_its_hours() {
    let facts =
        |at: &str, outages: &str| nfpa_101(2012, &format!("at = \"2026-03-02T{at}\"\n{outages}"));
    let lasts = out("fire-alarm", "2026-03-01T22:00:00", None);
    expect![[r#"
        none_found
        owed from 2026-03-02 02:00:00-06:00 if it lasts
        because Out of service, fire alarm: 4 h within 24 h, not more than 4 h. If what is out stays out, a watch is owed after 2026-03-02 02:00 -06:00.
    "#]].assert_eq(&told_with_reasons(&facts("02:00:00", &lasts)));
    let over = out("fire-alarm", "2026-03-01T22:00:00", Some("2026-03-02T01:00:00"));
    expect![[r#"
        none_found
        because Out of service, fire alarm: 3 h within 24 h, not more than 4 h.
    "#]]
    .assert_eq(&told_with_reasons(&facts("06:00:00", &over)));
    // Owed on the first day and restored; out again two days later, within the limit.
    let again = out("fire-alarm", "2026-02-27T10:00:00", Some("2026-02-27T20:00:00"))
        + &out("fire-alarm", "2026-03-02T05:00:00", None);
    expect![[r#"
        none_found
        owed from 2026-03-02 09:00:00-06:00 if it lasts
        because Out of service, fire alarm: a watch was owed from 2026-02-27 14:00 -06:00 to 2026-02-27 20:00 -06:00, when it was restored.
        because Out of service, fire alarm: 1 h within 24 h, not more than 4 h. If what is out stays out, a watch is owed after 2026-03-02 09:00 -06:00.
    "#]].assert_eq(&told_with_reasons(&facts("06:00:00", &again)));
}

/// East Lake, Florida: an outage expected to last more than its hours calls for a watch at once.
#[test]
fn hours_expected_are_told_by_system() {
    let facts = |outage: &str| {
        format!(
            "profile = \"East Lake, Florida\"\nzone = \"America/New_York\"\nat = \"2026-03-02T06:00:00\"\n{outage}"
        )
    };
    let alarm = out("fire-alarm", "2026-03-02T05:00:00", None);
    expect![[r#"
        authority
        other duties not allowed [code: East Lake, Florida no other duties]
        write record
        deliver OnRequest
        because Not stated: outage.expected_until. The source depends on it (outage); the stricter reading is taken.
        because Longest time unseen: the source states no number; the authority decides.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&facts(&alarm)));
    let until = |ends: &str| format!("{alarm}expected_until = \"{ends}\"\n");
    expect![[r#"
        none_found
        other duties not allowed [code: East Lake, Florida no other duties]
        write record
        deliver OnRequest
        because By the facts stated, its condition does not hold: outage.
        because Longest time unseen: the source states no number; the authority decides.
    "#]]
    .assert_eq(&told_with_reasons(&facts(&until("2026-03-02T06:30:00"))));
    let both = until("2026-03-03T05:00:00")
        + &out("sprinkler", "2026-03-02T05:30:00", Some("2026-03-02T06:30:00"));
    expect![[r#"
        yes since 2026-03-02 05:00:00-05:00
        other duties not allowed [code: East Lake, Florida no other duties]
        write record
        deliver OnRequest
        because Out of service, fire alarm: it cannot be back within 4 h.
        because By the facts stated, its condition does not hold: outage.
        because Longest time unseen: the source states no number; the authority decides.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&facts(&both)));
}

/// City of Ames, 15 minutes where the occupancy asks for it and 30 otherwise: a bare letter, a letter with its number, one of two
/// groups, and none stated.
#[test]
fn thirty_minutes_only_where_the_group_is_known() {
    let gap = |building: &str| {
        let facts = format!(
            "profile = \"Ames, Iowa\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n[building]\nsleeping = false\n{building}\n{}",
            out("fire-alarm", "2026-03-01T22:00:00", None)
        );
        Terms::of(
            &facts::read(&facts, Standards::embedded()).expect("facts"),
            Standards::embedded(),
        )
        .gaps
        .first()
        .map(|gap| gap.gap_s)
    };
    let cases = [
        ("occupancy = \"I\"", 900),
        ("occupancy = \"I-2\"", 900),
        ("occupancy = [\"B\", \"I-2\"]", 900),
        ("occupancy = [\"I-2\", \"B\"]", 900),
        ("occupancy = \"A-2\"\nopen = true", 900),
        ("occupancy = \"A-2\"\nopen = false", 1800),
        ("occupancy = \"B\"", 1800),
        ("occupancy = \"S-1\"", 1800),
        ("", 900),
    ];
    for (building, expected) in cases {
        assert_eq!(gap(building), Some(expected), "{building}");
    }
}

/// What will be out tomorrow: a source that leaves it to the official is asked today (IFC 2018 901.7.4, before a planned
/// impairment), one that counts says from when.
#[test]
fn a_planned_outage_is_never_none_found_where_the_official_decides() {
    let first = |profile: &str, expected: &str| {
        let facts = format!(
            "profile = \"{profile}\"\nzone = \"America/Chicago\"\nat = \"2026-03-01T12:00\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T08:00\"\n{expected}"
        );
        told(&facts).lines().take(2).collect::<Vec<_>>().join("; ")
    };
    for profile in ["IFC 2018", "Los Angeles", "Hanover County, Virginia"] {
        assert!(first(profile, "to = \"2026-03-02T16:00\"").starts_with("authority"), "{profile}");
    }
    assert_eq!(
        first("East Lake, Florida", "expected_until = \"2026-03-02T13:00\""),
        "none_found; owed from 2026-03-02 08:00:00-06:00 if it lasts"
    );
    let short = first("East Lake, Florida", "expected_until = \"2026-03-02T12:00\"");
    assert!(short.starts_with("none_found") && !short.contains("owed from"), "{short}");
}
