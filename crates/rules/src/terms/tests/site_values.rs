//! Values that are checked elsewhere on a plan or at the end of a watch. Cases T19, T20, T22, T24 to T26 of the published values they cite.

use super::*;
use crate::codes::Step;
use crate::standards::{Demand, Value};
use crate::terms::facts::Length;

fn values(profile: &str, demand: Demand) -> Vec<Value> {
    let standards = Standards::embedded();
    let profile = [standards.find(profile).expect("a profile")];
    let day = "2026-03-02".parse().expect("a day");
    let of = standards.in_force(&profile, day).into_iter().filter(|found| found.demand() == demand);
    of.map(|found| found.value.clone()).collect()
}

fn within(value: &Value, tenths_ft: i64) -> bool {
    Length::from_tenths_ft(tenths_ft) <= Length::from_ft(value.at_most.expect("a distance"))
}

/// 29 CFR 1910.157(d)(2) and (d)(4): 75 ft for Class A, 50 ft for Class B.
#[test]
fn extinguishers_by_walking_distance() {
    let values = values("29 CFR 1910", Demand::ExtinguisherTravel);
    let class = |class: &str| {
        values.iter().find(|value| value.class.as_deref() == Some(class)).expect("a class")
    };
    assert!(within(class("A"), 750) && !within(class("A"), 751));
    assert!(within(class("B"), 500) && !within(class("B"), 501));
}

/// IFC 2018 Table 906.3(1): 11,250 sq ft for each extinguisher, the square within a circle of 75 ft, side 106.07 ft.
#[test]
fn largest_square_of_an_extinguisher() {
    let area =
        values("IFC 2018", Demand::ExtinguisherArea).iter().filter_map(|value| value.at_most).max();
    let travel = values("IFC 2018", Demand::ExtinguisherTravel);
    let radius = travel
        .iter()
        .find(|value| value.class.as_deref() == Some("A"))
        .and_then(|value| value.at_most);
    assert_eq!(area, radius.map(|radius| 2 * radius * radius));
    let side = libm::sqrt(area.expect("an area") as f64);
    assert!((side - 106.07).abs() < 0.005, "{side}");
}

/// IFC 2018 3504.2.6: one of 2-A:20-B:C within 30 ft of hot work.
#[test]
fn extinguisher_at_hot_work() {
    let values = values("IFC 2018", Demand::HotWorkExtinguisher);
    assert_eq!(values[0].class.as_deref(), Some("2-A:20-B:C"));
    assert!(within(&values[0], 300) && !within(&values[0], 301));
}

/// IFC 2018 901.7.6: five things before an impairment may close.
#[test]
fn five_steps_at_restoration() {
    let values = values("IFC 2018", Demand::RestorationSteps);
    assert_eq!(
        values[0].steps,
        [
            Step::TestedOperational,
            Step::TellSupervisors,
            Step::TellFireDepartment,
            Step::TellInsurerAndOthers,
            Step::TagRemoved
        ]
    );
}

/// New York City FC 901.7.2.1 item 6 and IFC 2018 3503.3: 48 hours after the watch, or the work. Deleting at 47 is refused.
#[test]
fn records_outlive_the_watch_by_48_hours() {
    let ended: Timestamp = "2026-03-02T08:00:00Z".parse().expect("a time");
    let after = |hours: i64| ended + jiff::SignedDuration::from_hours(hours);
    for facts in [
        "profile = \"New York City Fire Code 2022\"",
        "profile = \"IFC 2018\"\n[[hot_work]]\nlast_spark = \"2026-03-02T03:00\"",
    ] {
        let (profile, rest) = facts.split_once('\n').unwrap_or((facts, ""));
        let facts =
            format!("{profile}\nzone = \"America/New_York\"\nat = \"2026-03-02T04:00\"\n{rest}");
        let facts = facts::read(&facts, Standards::embedded()).expect("facts");
        let terms = Terms::of(&facts, Standards::embedded());
        assert!(!terms.may_erase(ended, after(47)));
        assert!(terms.may_erase(ended, after(49)));
    }
}

/// Where no source states a floor nothing may be erased on the word of these terms.
#[test]
fn without_a_floor_nothing_is_erased() {
    let ended: Timestamp = "2026-03-02T08:00:00Z".parse().expect("a time");
    let facts = "profile = \"Alabama\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T04:00\"";
    let facts = facts::read(facts, Standards::embedded()).expect("facts");
    let much_later = ended + jiff::SignedDuration::from_hours(24 * 400);
    assert!(!Terms::of(&facts, Standards::embedded()).may_erase(ended, much_later));
}
