//! Places and their own numbers. Cases T5, T7, T10 to T12, T22 and T23 of the published values they cite.

use super::*;
use expect_test::expect;

fn at(profile: &str, hours_out: i64, rest: &str) -> String {
    let at = 4 + hours_out;
    format!(
        "profile = \"{profile}\"\nzone = \"America/New_York\"\nat = \"2026-03-02T{at:02}:00:00\"\n{rest}\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T04:00:00\""
    )
}

/// Syracuse and Cape Coral: more than 8 hours in 24. West Jackson: more than 4.
#[test]
fn six_hours_by_three_cities() {
    check(
        &at("Syracuse, New York", 6, ""),
        expect![[r#"
        none_found
        owed from 2026-03-02 12:00:00-05:00 if it lasts
        write record
        deliver OnRequest
    "#]],
    );
    check(
        &at("Cape Coral, Florida", 6, ""),
        expect![[r#"
        none_found
        owed from 2026-03-02 12:00:00-05:00 if it lasts
        gap all 3600 s [code: Cape Coral, Florida frequency of rounds]
        other duties not allowed [code: Cape Coral, Florida no other duties]
        write name, date, round-began, round-ended, initials
        deliver Daily next 2026-03-03 08:00:00-05:00
    "#]],
    );
    check(
        &at("West Jackson, Georgia", 6, ""),
        expect![[r#"
        yes since 2026-03-02 08:00:00-05:00
        gap all 3600 s [code: West Jackson, Georgia frequency of rounds]
        other duties not allowed [code: West Jackson, Georgia no other duties]
        write round-began, round-ended, name, initials
        deliver OnSite
    "#]],
    );
}

/// City of Ames, Fire Watch Information: 15 minutes where people sleep, else 30.
#[test]
fn ames_by_occupancy() {
    check(
        &at("Ames, Iowa", 6, "[building]\noccupancy = \"R-1\"\nsleeping = true"),
        expect![[r#"
        yes since 2026-03-02 08:00:00-05:00
        gap all 900 s [code: Ames, Iowa frequency of patrols]
        write record
        deliver Daily
    "#]],
    );
    check(
        &at("Ames, Iowa", 6, "[building]\noccupancy = \"S-1\"\nsleeping = false"),
        expect![[r#"
        yes since 2026-03-02 08:00:00-05:00
        gap all 1800 s [code: Ames, Iowa frequency of patrols]
        write record
        deliver Daily
    "#]],
    );
}

/// Occupied assembly: 15 minutes while open, else 30.
#[test]
fn an_assembly_hall_by_its_hours() {
    let open = "[building]\noccupancy = \"A-2\"\nopen = \"Mon-Sun 09:00-23:00\"";
    check(
        &at("Alabama", 6, open),
        expect![[r#"
        authority
        gap all 900 s [code: Alabama frequency of patrols]
        other duties not allowed [code: Alabama no other duties]
        write site-address, round-time, name, notes
    "#]],
    );
    check(
        &at("Alabama", 2, open),
        expect![[r#"
        authority
        gap all 1800 s [code: Alabama frequency of patrols]
        other duties not allowed [code: Alabama no other duties]
        write site-address, round-time, name, notes
    "#]],
    );
    check(
        &at("Alabama", 6, "[building]\noccupancy = \"A-2\""),
        expect![[r#"
        authority
        gap all 900 s [code: Alabama frequency of patrols]
        other duties not allowed [code: Alabama no other duties]
        write site-address, round-time, name, notes
    "#]],
    );
}

/// West Allis: 30 minutes for each physical area; its shorter class was not retrieved, so a hotel's number is open.
#[test]
fn west_allis_states_no_number_for_sleepers() {
    expect![[r#"
        authority
        gap all 1800 s [code: West Allis, Wisconsin each physical area]
        write date, round-time, name, signature
        because The sources asked say nothing about this: outage (fire alarm). The authority decides.
        because Longest time unseen: the source states no number; the authority decides.
    "#]].assert_eq(&told_with_reasons(&at(
        "West Allis, Wisconsin",
        2,
        "[building]\noccupancy = \"R-1\"",
    )));
}

/// Wood Buffalo: the first patrol starts within 15 minutes of the start of the shift.
#[test]
fn wood_buffalo_first_round() {
    check(
        &at("Wood Buffalo, Alberta", 2, ""),
        expect![[r#"
        authority
        gap all 900 s [code: Wood Buffalo, Alberta one complete patrol]
        first round within 900 [code: Wood Buffalo, Alberta first patrol]
        other duties not allowed [code: Wood Buffalo, Alberta no other duties]
        write record, round-time
        deliver OnRequest
    "#]],
    );
}

/// Cape Coral: the log goes out by 08:00 the next morning.
#[test]
fn cape_coral_log_is_due_at_eight() {
    check(
        &at("Cape Coral, Florida", 9, ""),
        expect![[r#"
        yes since 2026-03-02 12:00:00-05:00
        gap all 3600 s [code: Cape Coral, Florida frequency of rounds]
        other duties not allowed [code: Cape Coral, Florida no other duties]
        write name, date, round-began, round-ended, initials
        deliver Daily next 2026-03-03 08:00:00-05:00
    "#]],
    );
}

/// New York City, FC 901.7.2.1: the record is kept 48 hours after the watch. Evacuate or watch, whatever the hours.
#[test]
fn new_york_evacuates_or_watches_at_once() {
    check(
        &at("New York City Fire Code 2022", 0, ""),
        expect![[r#"
        yes since 2026-03-02 04:00:00-05:00
        instead evacuate
        retain 172800 [code: New York City Fire Code 2022 FC 901.7.2.1, item 6]
        other duties not allowed [code: New York City Fire Code 2022 FC 901.7.2.1]
        write record
        deliver OnSite
    "#]],
    );
}

/// Charlotte FPB 214.02: no fewer than two qualified people.
#[test]
fn charlotte_needs_two() {
    check(
        &at("Charlotte, North Carolina 2002", 2, ""),
        expect![[r#"
        authority
        people 2 [code: Charlotte, North Carolina 2002 qualified individuals]
    "#]],
    );
}

/// East Lake: what cannot be corrected within four hours, whatever the hours gone by.
#[test]
fn east_lake_looks_ahead() {
    let expected = |until: &str| {
        at("East Lake, Florida", 1, "") + &format!("\nexpected_until = \"2026-03-02T{until}\"")
    };
    check(
        &expected("08:00"),
        expect![[r#"
        none_found
        other duties not allowed [code: East Lake, Florida no other duties]
        write record
        deliver OnRequest
    "#]],
    );
    check(
        &expected("08:00:01"),
        expect![[r#"
        yes since 2026-03-02 04:00:00-05:00
        other duties not allowed [code: East Lake, Florida no other duties]
        write record
        deliver OnRequest
    "#]],
    );
    check(
        &at("East Lake, Florida", 1, ""),
        expect![[r#"
        authority
        other duties not allowed [code: East Lake, Florida no other duties]
        write record
        deliver OnRequest
    "#]],
    );
}

/// 81 FR 26871 adopts NFPA 101, 2012 edition: the alarm side of a hospital comes from there.
#[test]
fn an_adopted_code_holds_too() {
    check(
        &at("42 CFR 482.41 health care", 6, ""),
        expect![[r#"
        yes since 2026-03-02 08:00:00-05:00
        instead evacuate
    "#]],
    );
}

/// WAC 51-50-3314 took effect on 1 July 2023.
#[test]
fn a_rule_before_its_day_is_not_in_force() {
    let facts = |day: &str| {
        format!(
            "profile = \"Washington State WAC 51-50\"\nzone = \"America/Los_Angeles\"\nat = \"{day}T20:00:00\"\n[construction]\nheight_m = 14.0"
        )
    };
    expect![[r#"
        authority
        because None of the sources asked was in force on that day, or none states a rule that can be used.
        because The sources asked say nothing about this: construction. The authority decides.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&facts("2023-06-30")));
    expect![[r#"
        authority
        because Construction: the source leaves it to the authority.
        because The watch is kept while nobody works. The working hours are not stated, so none is taken off.
        because No source in force states how long a zone may stay unseen. Ask the authority for a number.
    "#]].assert_eq(&told_with_reasons(&facts("2023-07-01")));
}
