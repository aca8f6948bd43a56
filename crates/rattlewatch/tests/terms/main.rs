//! The command `terms` from outside: five pages a fire marshal reads, the keys of the JSON, and refusals.

mod marshal;

use expect_test::{Expect, expect_file};
use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_rattlewatch"))
        .arg("terms")
        .args(arguments)
        .output()
        .expect("the program runs")
}

/// Writes FACTS beside the build and hands its path to `use_it`.
fn with_facts<T>(name: &str, facts: &str, use_it: impl FnOnce(&str) -> T) -> T {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.toml"));
    std::fs::write(&path, facts).expect("the build folder can be written");
    use_it(path.to_str().expect("a path in UTF-8"))
}

fn json(name: &str, facts: &str) -> Value {
    with_facts(name, facts, |path| {
        let output = run(&[path, "--json"]);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_slice(&output.stdout).expect("JSON")
    })
}

fn page(name: &str, facts: &str, expected: expect_test::ExpectFile) {
    let printed = with_facts(name, facts, |path| run(&[path]).stdout);
    expected.assert_eq(&String::from_utf8(printed).expect("UTF-8").replace('\u{a0}', " "));
}

const HOTEL: &str = r#"
profile = "Ames, Iowa"
zone = "America/Chicago"
at = "2026-03-02T04:00:00"
[building]
occupancy = "R-1"
sleeping = true
[[outage]]
system = "fire-alarm"
from = "2026-03-01T22:00:00"
[[order]]
from = "client"
by = "P. Lund"
at = "2026-03-01T23:00:00"
gap_s = 600
"#;

#[test]
fn a_hotel_whose_alarm_is_out() {
    page("hotel", HOTEL, expect_file!["hotel.txt"]);
}

#[test]
fn a_building_site_at_night() {
    let facts = "profile = \"IFC 2021\"\nzone = \"America/New_York\"\nat = \"2026-03-02T20:00:00\"\n[construction]\nheight_m = 14.0\nhours = \"Mon-Fri 07:00-17:00\"\nholidays = [\"2026-03-03\"]";
    page("site", facts, expect_file!["site.txt"]);
}

#[test]
fn hot_work_by_the_joint_code() {
    let facts = "profile = \"UK Joint Code 10th edition\"\nzone = \"Europe/London\"\nat = \"2026-03-02T16:10:00\"\n[[hot_work]]\nlast_spark = \"2026-03-02T16:00:00\"\ncombustibles_m = 4.0";
    page("joint-code", facts, expect_file!["joint-code.txt"]);
}

#[test]
fn sprinklers_out_under_the_fire_code() {
    let facts = "profile = \"IFC 2018\"\nzone = \"America/Los_Angeles\"\nat = \"2026-03-02T16:10:00\"\n[building]\noccupancy = \"M\"\n[[outage]]\nsystem = \"sprinkler\"\nfrom = \"2026-03-02T15:00:00\"\n[[hot_work]]\nbegan = \"2026-03-02T15:30:00\"";
    page("fire-code", facts, expect_file!["fire-code.txt"]);
}

#[test]
fn nothing_found_names_where_it_looked() {
    let facts = "profile = \"NFPA 101 2012\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T01:00:00\"\n[[outage]]\nsystem = \"fire-alarm\"\nfrom = \"2026-03-01T22:00:00\"";
    page("none-found", facts, expect_file!["none-found.txt"]);
}

fn shape(value: &Value, expected: Expect) {
    let mut value = value.clone();
    value.sort_all_objects();
    expected.assert_eq(&serde_json::to_string_pretty(&value).expect("JSON").replace('\u{a0}', " "));
}

#[test]
fn the_keys_of_the_json() {
    let told = json("keys", HOTEL);
    for key in [
        "required",
        "instead",
        "since",
        "gaps",
        "people_at_least",
        "after_work",
        "notify",
        "write",
        "deliver",
        "retain_s",
        "sources",
        "because",
        "left_out",
        "gave_way",
    ] {
        assert!(told.get(key).is_some(), "{key}");
    }
    assert_eq!(told["required"], "yes");
    assert_eq!(told["since"], "2026-03-02T02:00:00-06:00");
    assert_eq!(told["people_at_least"], Value::Null);
    assert_eq!(told["after_work"]["watch_until"], Value::Null);
    shape(
        &told["gaps"],
        expect_test::expect![[r#"
        [
          {
            "for": "all",
            "from": "client",
            "gap_s": 600,
            "source": "order of the client by P. Lund, given 2026-03-01 23:00 -06:00"
          }
        ]"#]],
    );
    shape(
        &told["gave_way"],
        expect_test::expect![[r#"
        [
          {
            "for": "all",
            "from": "code",
            "gap_s": 900,
            "source": "Ames, Iowa: City of Ames Fire Department, Fire Watch Information, frequency of patrols [read]",
            "term": "gap",
            "why": "stricter"
          }
        ]"#]],
    );
}

#[test]
fn profiles_and_the_example() {
    let list: Vec<Value> =
        serde_json::from_slice(&run(&["--profiles", "--json"]).stdout).expect("a list");
    let titles: Vec<&str> = list.iter().filter_map(|profile| profile["title"].as_str()).collect();
    for title in ["NFPA 101 2012", "29 CFR 1926", "UK Joint Code 10th edition", "Alabama"] {
        assert!(titles.contains(&title), "{title}");
    }
    let example = String::from_utf8(run(&["--example"]).stdout).expect("UTF-8");
    assert_eq!(json("example", &example)["required"], "yes");
}

/// Every profile answers the plainest question, and none answers *none found* about a system it says nothing of.
#[test]
fn every_profile_answers() {
    let list: Vec<Value> =
        serde_json::from_slice(&run(&["--profiles", "--json"]).stdout).expect("a list");
    let titles: Vec<&str> = list.iter().filter_map(|profile| profile["title"].as_str()).collect();
    let facts = |titles: &[&str]| {
        format!(
            "profile = {titles:?}\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00:00\"\n[[outage]]\nsystem = \"smoke-control\"\nfrom = \"2026-03-02T03:00:00\""
        )
    };
    assert_ne!(json("all", &facts(&titles))["required"], "none_found");
}

#[test]
fn refusals_end_with_two_and_say_what_to_write() {
    let output =
        with_facts("bad", "profile = \"NFPA 101 2021\"\nzone = \"America/Chicgo\"", |path| {
            run(&[path])
        });
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("The nearest is \"America/Chicago\"") && said.contains("at is missing"),
        "{said}"
    );
    assert_eq!(run(&["no-such-file.toml"]).status.code(), Some(2));
}

#[test]
fn the_same_page_in_spanish() {
    let printed = with_facts("es", HOTEL, |path| run(&[path, "--lang", "es"]).stdout);
    let printed = String::from_utf8(printed).expect("UTF-8").replace('\u{a0}', " ");
    assert!(
        printed.contains("Se debe una vigilancia")
            && printed.contains("Deciden las normas locales"),
        "{printed}"
    );
}
