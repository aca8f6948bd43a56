//! The embedded files hold to the rules, and the reader refuses what breaks them.

use super::*;
use crate::codes::Known;
use expect_test::{Expect, expect};

fn refused(text: &str, expected: Expect) {
    let faults = match Standards::read([("springfield", "longest-gap", text)]) {
        Ok(_) => "accepted\n".to_owned(),
        Err(faults) => faults.iter().map(|fault| format!("{fault}\n")).collect(),
    };
    expected.assert_eq(&faults);
}

#[test]
fn every_embedded_file_is_accepted_and_sourced() {
    match Standards::read(FILES.iter().copied()) {
        Err(faults) => {
            panic!("{}", faults.iter().map(|fault| format!("{fault}\n")).collect::<String>())
        }
        Ok(standards) => {
            for file in standards.files() {
                for value in &file.value {
                    assert!(
                        !value.source.is_empty() && !value.clause.is_empty(),
                        "{}/{:?}",
                        file.folder,
                        file.demand
                    );
                }
            }
        }
    }
}

#[test]
fn a_value_without_a_source_is_refused() {
    refused(
        r#"profile = "Springfield"
           demand = "longest-gap"
           jurisdiction = "US"
           unit = "min"
           [[value]]
           at_most = 30
           source = ""
           clause = "Fire watch"
           known = "read""#,
        expect![[r#"
            standards/springfield/longest-gap.toml, value 1: source is empty: no value without its source and clause
        "#]],
    );
}

#[test]
fn a_number_without_a_unit_and_a_demand_without_its_number_are_refused() {
    refused(
        r#"profile = "Springfield"
           demand = "longest-gap"
           jurisdiction = "US"
           [[value]]
           at_least = 30
           source = "Springfield Fire, Fire watch"
           clause = "Fire watch"
           known = "read""#,
        expect![[r#"
            standards/springfield/longest-gap.toml, value 1: unit is missing: a number needs its unit
            standards/springfield/longest-gap.toml, value 1: at_most is missing: this demand must state it
        "#]],
    );
}

#[test]
fn titles_and_ids_are_unique() {
    let profiles = Standards::embedded().profiles();
    for pair in profiles.windows(2) {
        assert_ne!(pair[0].title, pair[1].title);
    }
    let mut ids: Vec<_> = profiles.iter().map(|profile| &profile.id).collect();
    ids.sort();
    for pair in ids.windows(2) {
        assert_ne!(pair[0], pair[1]);
    }
}

#[test]
fn a_value_that_nobody_should_rely_on_says_why() {
    for file in Standards::embedded().files() {
        for value in &file.value {
            let reason = value.left_out.as_deref().unwrap_or("stated");
            assert!(!reason.trim().is_empty());
            assert!(
                value.left_out.is_none() || value.known == Known::FromMemory,
                "{}/{:?}",
                file.folder,
                file.demand
            );
        }
    }
}

#[test]
fn unknown_profile_offers_the_nearest() {
    let fault = Standards::embedded().find("NFPA 101 2013").unwrap_err();
    assert!(fault.nearest.starts_with("NFPA 101 20"), "{}", fault.nearest);
}
