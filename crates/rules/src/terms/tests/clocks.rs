//! Hours out of service across both changes of the clocks, and across a change of half an hour.

use super::*;
use chrono::{LocalResult, TimeZone as _};
use expect_test::expect;
use proptest::prelude::*;

fn alarm(zone: &str, from: &str, at: &str) -> String {
    format!(
        "profile = \"NFPA 101 2012\"\nzone = \"{zone}\"\nat = \"{at}\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"{from}\""
    )
}

/// tz database, rule US: in 2026 the clocks of Chicago go from 02:00 to 03:00 on 8 March.
#[test]
fn spring_takes_an_hour_from_the_night() {
    check(
        &alarm("America/Chicago", "2026-03-08T00:00", "2026-03-08T05:00"),
        expect![[r#"
        none_found
        owed from 2026-03-08 05:00:00-05:00 if it lasts
    "#]],
    );
    check(
        &alarm("America/Chicago", "2026-03-08T00:00", "2026-03-08T05:00:01"),
        expect![[r#"
        yes since 2026-03-08 05:00:00-05:00
        instead evacuate
    "#]],
    );
}

/// tz database, rule US: the clocks of Chicago go from 02:00 back to 01:00 on 1 November.
#[test]
fn autumn_adds_an_hour_to_the_night() {
    check(
        &alarm("America/Chicago", "2026-11-01T00:00", "2026-11-01T03:00"),
        expect![[r#"
        none_found
        owed from 2026-11-01 03:00:00-06:00 if it lasts
    "#]],
    );
    check(
        &alarm("America/Chicago", "2026-11-01T00:00", "2026-11-01T03:00:01"),
        expect![[r#"
        yes since 2026-11-01 03:00:00-06:00
        instead evacuate
    "#]],
    );
}

/// tz database, rule LH: Lord Howe Island goes from 02:00 (+11) back to 01:30 (+10:30) on 5 April 2026 and from 02:00
/// to 02:30 on 4 October.
#[test]
fn lord_howe_changes_by_half_an_hour() {
    check(
        &alarm("Australia/Lord_Howe", "2026-04-05T00:00", "2026-04-05T03:30"),
        expect![[r#"
        none_found
        owed from 2026-04-05 03:30:00+10:30 if it lasts
    "#]],
    );
    check(
        &alarm("Australia/Lord_Howe", "2026-04-05T00:00", "2026-04-05T03:30:01"),
        expect![[r#"
        yes since 2026-04-05 03:30:00+10:30
        instead evacuate
    "#]],
    );
    check(
        &alarm("Australia/Lord_Howe", "2026-10-04T00:00", "2026-10-04T04:30"),
        expect![[r#"
        none_found
        owed from 2026-10-04 04:30:00+11:00 if it lasts
    "#]],
    );
    check(
        &alarm("Australia/Lord_Howe", "2026-10-04T00:00", "2026-10-04T04:30:01"),
        expect![[r#"
        yes since 2026-10-04 04:30:00+11:00
        instead evacuate
    "#]],
    );
}

/// A local time that came twice is read so that the outage is longer; an offset settles it.
#[test]
fn twice_told_hours_lengthen_the_outage() {
    check(
        &alarm("America/Chicago", "2026-11-01T01:30", "2026-11-01T04:30:01"),
        expect![[r#"
        yes since 2026-11-01 04:30:00-06:00
        instead evacuate
    "#]],
    );
    check(
        &alarm("America/Chicago", "2026-11-01T01:30:00-06:00", "2026-11-01T04:30:01"),
        expect![[r#"
            none_found
            owed from 2026-11-01 05:30:00-06:00 if it lasts
        "#]],
    );
}

#[test]
fn a_local_time_that_never_came_is_refused() {
    check(
        &alarm("America/Chicago", "2026-03-08T02:30", "2026-03-08T05:00"),
        expect![[r#"
            outage[1].from: NoSuchLocalTime { given: "2026-03-08T02:30", example: "2026-03-08T03:30:00" }, e.g. from = "2026-03-08T03:30:00"
        "#]],
    );
}

/// The instants that one reader of the tz database gives for a local time, beside those of another.
fn by_the_other_reader(zone: chrono_tz::Tz, local: chrono::NaiveDateTime) -> Option<(i64, i64)> {
    match zone.from_local_datetime(&local) {
        LocalResult::None => None,
        LocalResult::Single(at) => Some((at.timestamp(), at.timestamp())),
        LocalResult::Ambiguous(first, second) => Some((first.timestamp(), second.timestamp())),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]
    /// Both readers carry the tz database of their own release and agree on every minute near the changes.
    #[test]
    fn local_times_agree_with_another_reader_of_the_tz_database(
        zone in prop::sample::select(vec!["America/Chicago", "Europe/London", "Australia/Lord_Howe", "Asia/Kathmandu"]),
        day in prop::sample::select(vec![(2026, 3, 8), (2026, 11, 1), (2026, 3, 29), (2026, 10, 25), (2026, 4, 5), (2026, 10, 4)]),
        minute in 0_u32..300,
    ) {
        let (year, month, date) = day;
        let local = chrono::NaiveDate::from_ymd_opt(year, month, date).expect("a day")
            .and_hms_opt(minute / 60, minute % 60, 0).expect("a time");
        let text = format!("{year:04}-{month:02}-{date:02}T{:02}:{:02}:00", minute / 60, minute % 60);
        let facts = |key: &str| {
            let outage = if key == "from" { text.as_str() } else { "2026-01-01T00:00:00" };
            let at = if key == "at" { text.as_str() } else { "2026-12-31T00:00:00" };
            facts::read(&alarm(zone, outage, at), Standards::embedded())
        };
        let other = by_the_other_reader(zone.parse().expect("a zone of the database"), local);
        match other {
            None => prop_assert!(facts("from").is_err() && facts("at").is_err()),
            Some((first, second)) => {
                prop_assert_eq!(facts("from").expect("a time").outages[0].from.as_second(), first);
                prop_assert_eq!(facts("at").expect("a time").at.as_second(), second);
            }
        }
    }
}
