//! Gatherings. Case T18 of the published values it cites.

use super::*;

fn managers(building: &str) -> Option<i64> {
    let facts = format!(
        "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T20:00:00\"\n[building]\n{building}"
    );
    let facts = facts::read(&facts, Standards::embedded()).expect("facts");
    let terms = Terms::of(&facts, Standards::embedded());
    assert_eq!(terms.required, Required::Authority, "403.12.1 leaves the watch to the official");
    terms.crowd_managers.map(|managers| managers.value)
}

/// IFC 2018 403.12.3: above 500 persons, at least two and one for each 250 or portion; fewer than 1,000 out of doors and
/// up to 1,000 at worship are exempt.
#[test]
fn one_for_each_250_or_portion() {
    assert_eq!(managers("crowd = 500\noutdoor = false\nworship = false"), None);
    assert_eq!(managers("crowd = 501\noutdoor = false\nworship = false"), Some(3));
    assert_eq!(managers("crowd = 600\noutdoor = true"), None);
    assert_eq!(managers("crowd = 1000\noutdoor = false\nworship = false"), Some(4));
    assert_eq!(managers("crowd = 1000\nworship = true"), None);
    assert_eq!(managers("crowd = 1001\noutdoor = false\nworship = false"), Some(5));
    assert_eq!(managers("crowd = 1001\nworship = true"), Some(5));
}

#[test]
fn an_exemption_needs_its_fact() {
    assert_eq!(managers("crowd = 600"), Some(3));
}

/// Nobody there is no gathering.
#[test]
fn a_crowd_of_nobody_is_none() {
    let facts = "profile = \"IFC 2018\"\nzone = \"America/Chicago\"\nat = \"2026-03-02T20:00:00\"\n[building]\ncrowd = ";
    let required =
        |crowd: u32| told(&format!("{facts}{crowd}")).lines().next().unwrap_or_default().to_owned();
    assert_eq!((required(0).as_str(), required(1).as_str()), ("none_found", "authority"));
}
