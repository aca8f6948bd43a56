//! What is wrong with facts: the key, the fault, a line that would be accepted, in the reader's words.

use super::*;
use expect_test::expect;

fn faults(facts: &str, expected: Expect) {
    let speech = say::Speech { lang: words::Lang::En, zone: TimeZone::UTC };
    let told = match facts::read(facts, Standards::embedded()) {
        Ok(_) => "accepted\n".to_owned(),
        Err(faults) => faults.iter().map(|fault| format!("{}\n", speech.fault(fault))).collect(),
    };
    expected.assert_eq(&told.replace(words::NBSP, " "));
}

const HEAD: &str =
    "profile = \"NFPA 101 2012\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n";

#[test]
fn an_empty_file_misses_three_keys() {
    faults(
        "",
        expect![[r#"
        profile is missing. Write for example: profile = "NFPA 101 2012"
        zone is missing. Write for example: zone = "America/Chicago"
        at is missing. Write for example: at = "2026-03-02T04:00:00"
    "#]],
    );
}

#[test]
fn unknown_names_are_told_with_the_nearest() {
    faults(
        "profile = \"Alabma\"\nzone = \"America/Chicgo\"\nat = \"2026-03-02T04:00:00\"\nbilding = 1\n[building]\noccupancy = \"R1x\"\n[[outage]]\nsystem = \"sprinklers\"\nfrom = \"2026-03-02T03:00\"\n[[order]]\nfrom = \"fire marshal\"",
        expect![[r#"
            bilding is no key. The nearest is building. Write for example: [building]
            profile: "Alabma" is not known. The nearest is "Alabama". Write for example: profile = "Alabama"
            zone: "America/Chicgo" is not known. The nearest is "America/Chicago". Write for example: zone = "America/Chicago"
            building.occupancy: "R1x" is not known. The nearest is "R". Write for example: occupancy = "R"
            outage[1].system: "sprinklers" is not known. The nearest is "sprinkler". Write for example: system = "sprinkler"
            order[1].from: "fire marshal" is not known. The nearest is "client". Write for example: from = "client"
        "#]],
    );
}

#[test]
fn values_of_another_kind() {
    faults(
        &format!(
            "{HEAD}[building]\nsleeping = \"yes\"\nheight_m = \"tall\"\ncrowd = 2.5\narea_m2 = -1\nopen = \"nine to five\"\nstoreys = 99999999999\n[[outage]]\nsystem = 3\nfrom = 7"
        ),
        expect![[r#"
            building.sleeping: "yes" is not true or false. Write for example: sleeping = true
            building.storeys: 99999999999 is beyond what makes sense. Write for example: storeys = 6
            building.height_m: "tall" is not a number. Write for example: height_m = 21.5
            building.area_m2: -1 is less than 0. Write for example: area_m2 = 4200
            building.crowd: "2.5" is not a whole number. Write for example: crowd = 600
            building.open: "nine to five" is not hours of the week. Write for example: open = "Mon-Sat 08:00-22:00"
            outage[1].system: "3" is not text in quotes. Write for example: system = "fire-alarm"
            outage[1].from: "7" is not a time with its day. Write for example: from = "2026-03-01T22:00:00"
        "#]],
    );
    faults(
        &format!("{HEAD}building = 3"),
        expect![[r#"
        building: "3" is not a section in [brackets]. Write for example: [building]
    "#]],
    );
}

#[test]
fn times_that_contradict() {
    faults(
        &format!(
            "{HEAD}[[outage]]\nsystem = \"sprinkler\"\nfrom = \"2026-03-02T03:00\"\nto = \"2026-03-02T02:00\"\n[[hot_work]]\nbegan = \"2026-03-02T03:00\"\nlast_spark = \"2026-03-02T02:00\"\n[[hot_work]]\nsurveyed = true\n[[order]]\nfrom = \"authority\"\nwatch = false\ngap_s = 900"
        ),
        expect![[r#"
            outage[1].to is before outage[1].from. Write for example: to = "2026-03-02T04:00:00"
            hot_work[1].last_spark is before hot_work[1].began. Write for example: last_spark = "2026-03-02T04:00:00"
            hot_work[2].surveyed contradicts hot_work[2].last_spark. Write for example: surveyed = false
            order[1].watch contradicts order[1].gap_s. Write for example: watch = true
        "#]],
    );
}

#[test]
fn times_that_do_not_exist() {
    faults(
        &HEAD.replace("2026-03-02T04:00:00", "2026-03-08T02:30:00"),
        expect![[r#"
            at: 2026-03-08T02:30:00 did not happen there: the clocks were put forward over it. Give the time after the change, or an offset. Write for example: at = "2026-03-08T03:30:00"
        "#]],
    );
    faults(
        &HEAD.replace("2026-03-02T04:00:00", "2026-02-30T02:30:00"),
        expect![[r#"
        at: "2026-02-30T02:30:00" is not a time with its day. Write for example: at = "2026-03-02T04:00:00"
    "#]],
    );
    faults(
        &HEAD.replace("2026-03-02T04:00:00", "2026-03-02"),
        expect![[r#"
        at: "2026-03-02" is not a time with its day. Write for example: at = "2026-03-02T04:00:00"
    "#]],
    );
    faults(
        &HEAD.replace("2026-03-02T04:00:00", "9026-03-02T00:00"),
        expect![[r#"
        at: 9026-03-02T00:00 is beyond what makes sense. Write for example: at = "2026-03-02T04:00:00"
    "#]],
    );
}

#[test]
fn no_toml_at_all() {
    faults(
        "profile = ",
        expect![[r#"
        The file is not TOML: TOML parse error at line 1, column 11
          |
        1 | profile = 
          |           ^
        string values must be quoted, expected literal string
        Write for example: profile = "NFPA 101 2012"
        zone = "America/Chicago"
        at = "2026-03-02T04:00:00"
    "#]],
    );
}

#[test]
fn the_example_is_accepted_and_so_is_every_line_of_it() {
    let every_line: String = facts::EXAMPLE
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(rest) if rest.starts_with('[') || rest.split(' ').nth(1) == Some("=") => {
                format!("{rest}\n")
            }
            _ => format!("{line}\n"),
        })
        .collect();
    for text in [facts::EXAMPLE, &every_line] {
        if let Err(faults) = facts::read(text, Standards::embedded()) {
            // The second reading states that a watch is required and released; nothing else may be wrong.
            panic!("{faults:#?}");
        }
    }
    assert!(every_line.matches("\n[[order]]").count() == 1 && every_line.contains("\nretain_s"));
}

/// The example is built from the times that were given: it is never before the beginning.
#[test]
fn an_end_before_its_beginning_is_told_with_a_time_that_would_do() {
    faults(
        &format!(
            "{HEAD}[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T03:00\"\nto = \"2026-03-02T01:00\"\n[[hot_work]]\nbegan = \"2026-03-01T14:00\"\nlast_spark = \"2026-03-01T13:59:59\"\n[[order]]\nfrom = \"authority\"\nat = \"2026-03-02T04:30\"\nwatch = true\nreleased = \"2026-03-02T05:00\"\nwatch_until = \"2026-03-02T03:00\"\nchecks_until = \"2026-03-02T02:00\""
        ),
        expect![[r#"
            outage[1].to is before outage[1].from. Write for example: to = "2026-03-02T04:00:00"
            hot_work[1].last_spark is before hot_work[1].began. Write for example: last_spark = "2026-03-01T15:00:00"
            order[1].watch_until is before order[1].at. Write for example: watch_until = "2026-03-02T05:30:00"
            order[1].checks_until is before order[1].watch_until. Write for example: checks_until = "2026-03-02T04:00:00"
        "#]],
    );
}

#[test]
fn numbers_lists_and_times_of_day_that_make_no_sense() {
    faults(
        "profile = []\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"",
        expect![[r#"
            profile is missing. Write for example: profile = "NFPA 101 2012"
        "#]],
    );
    faults(
        &format!(
            "{HEAD}[building]\ncrowd = -4\nheight_m = 2000000000.0\n[construction]\nholidays = \"2026-12-25\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-02T03:00\"\nexpected_until = \"2026-03-02T02:00\"\n[[order]]\nfrom = \"house\"\nat = \"2026-03-02T03:00\"\nuntil = \"2026-03-02T02:59:59\"\ndeliver = \"at dawn\""
        ),
        expect![[r#"
            building.height_m: 2000000000.0 is beyond what makes sense. Write for example: height_m = 21.5
            building.crowd: -4 is less than 0. Write for example: crowd = 600
            outage[1].expected_until is before outage[1].from. Write for example: expected_until = "2026-03-02T04:00:00"
            construction.holidays: "2026-12-25" is not a list. Write for example: holidays = ["2026-12-25"]
            order[1].until is before order[1].at. Write for example: until = "2026-03-02T04:00:00"
            order[1].deliver: "at dawn" is not a time of day. Write for example: deliver = "08:00"
        "#]],
    );
    // The bounds themselves are accepted.
    faults(
        &format!(
            "{HEAD}[building]\ncrowd = 0\nheight_m = 0\narea_m2 = 1000000000\n[[outage]]\nsystem = \"sprinkler\"\nfrom = \"2026-03-02T03:00\"\nto = \"2026-03-02T03:00\""
        ),
        expect!["accepted\n"],
    );
}
