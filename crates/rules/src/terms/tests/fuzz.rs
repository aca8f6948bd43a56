//! Any facts: no panic, and never *none found* while a source in force leaves something open.

use super::*;
use crate::codes::System;
use crate::standards::Demand;
use facts::{Building, Construction, HotWork, Length, Outage};
use proptest::prelude::*;

const AT: i64 = 1_772_445_600;

fn instant() -> impl Strategy<Value = Timestamp> {
    (-200_000_i64..100_000).prop_map(|s| Timestamp::from_second(AT + s).expect("in range"))
}

fn maybe<T: std::fmt::Debug + Clone>(
    of: impl Strategy<Value = T>,
) -> impl Strategy<Value = Option<T>> {
    prop::option::of(of)
}

fn length() -> impl Strategy<Value = Length> {
    prop_oneof![
        Just(Length::from_ft(35)),
        Just(Length::from_ft(40)),
        (0.0_f64..60.0).prop_map(Length::from_m)
    ]
}

fn outage() -> impl Strategy<Value = Outage> {
    (prop::sample::select(System::ALL), instant(), maybe(0_i64..100_000), maybe(0_i64..100_000))
        .prop_map(|(system, from, lasts, expected)| {
            let after = |s: i64| Timestamp::from_second(from.as_second() + s).expect("in range");
            Outage { system, from, to: lasts.map(after), expected_until: expected.map(after) }
        })
}

fn hot_work() -> impl Strategy<Value = HotWork> {
    (
        maybe(instant()),
        maybe(any::<bool>()),
        maybe(any::<bool>()),
        maybe(length()),
        maybe(any::<bool>()),
        maybe(length()),
    )
        .prop_map(
            |(last_spark, surveyed, impaired, combustibles, easily_ignited, openings)| HotWork {
                last_spark,
                surveyed,
                impaired,
                combustibles,
                easily_ignited,
                openings,
                ..HotWork::default()
            },
        )
}

fn building() -> impl Strategy<Value = Building> {
    let groups = prop::sample::select(vec!["R-1", "S-1", "A-2", "I-2", "B", "R"]);
    (
        prop::collection::vec(groups, 0..2),
        maybe(any::<bool>()),
        maybe(0_i64..2_000),
        maybe(any::<bool>()),
    )
        .prop_map(|(groups, sleeping, crowd, nuisance_alarms)| Building {
            occupancy: groups.into_iter().map(String::from).collect(),
            sleeping,
            crowd,
            nuisance_alarms,
            ..Building::default()
        })
}

fn any_facts() -> impl Strategy<Value = Facts> {
    let all = Standards::embedded().profiles();
    let site =
        maybe(length()).prop_map(|height| Construction { height, ..Construction::default() });
    (
        prop::collection::vec(prop::sample::select(all), 1..3),
        building(),
        prop::collection::vec(outage(), 0..4),
        prop::collection::vec(hot_work(), 0..3),
        maybe(site),
    )
        .prop_map(|(profiles, building, outages, hot_work, construction)| Facts {
            profiles,
            zone: TimeZone::get("America/Chicago").expect("a zone of the database"),
            at: Timestamp::from_second(AT).expect("in range"),
            building,
            outages,
            hot_work,
            construction,
            orders: Vec::new(),
        })
}

/// What is open by the facts alone, judged without the code under test: something is stated about which the files of the
/// profiles have no value with an hour, a height or a yes.
fn plainly_open(facts: &Facts) -> bool {
    let standards = Standards::embedded();
    let profiles = standards.with_adopted(&facts.profiles);
    let in_force: Vec<_> = standards
        .in_force(&profiles, facts.local().date())
        .into_iter()
        .filter(|found| found.value.left_out.is_none())
        .collect();
    let lasts =
        |outage: &Outage| outage.from <= facts.at && outage.to.is_none_or(|to| facts.at <= to);
    let no_rule = |system: System| {
        !in_force.iter().any(|found| {
            found.demand() == Demand::Outage && found.value.when.systems.contains(&system)
        })
    };
    let official = |system: System| {
        in_force.iter().any(|found| {
            found.demand() == Demand::Outage
                && found.value.when.systems.contains(&system)
                && found.value.owed.is_some_and(crate::standards::Owed::leaves_it_open)
        })
    };
    let outage = facts
        .outages
        .iter()
        .any(|outage| lasts(outage) && (no_rule(outage.system) || official(outage.system)));
    let no_height = facts
        .construction
        .as_ref()
        .is_some_and(|site| site.height.is_none() && site.stage.is_none());
    let about_sites = in_force.iter().filter(|found| found.demand() == Demand::Construction);
    let by_height = about_sites.clone().any(|found| found.value.when.higher_than_ft.is_some());
    let site = facts.construction.is_some()
        && (about_sites.count() == 0 || no_height && facts.building.height.is_none() && by_height);
    let no_minutes =
        in_force.iter().any(|found| found.demand() == Demand::AfterWork && found.value.no_number);
    let work = !facts.hot_work.is_empty() && no_minutes;
    let nuisance = facts.building.nuisance_alarms == Some(true);
    outage || site || work || nuisance || in_force.is_empty()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, ..ProptestConfig::default() })]
    #[test]
    fn never_none_found_while_something_is_open(facts in any_facts()) {
        let terms = Terms::of(&facts, Standards::embedded());
        if plainly_open(&facts) {
            prop_assert_ne!(terms.required, Required::NoneFound);
        }
        if terms.required == Required::NoneFound {
            let open = terms.because.iter().any(|because| matches!(
                because,
                Because::LeftTo { .. } | Because::NoRule { .. } | Because::NothingInForce | Because::Conflict { .. }
                    | Because::FactMissing { demand: Demand::Outage | Demand::Construction | Demand::HotWork, .. }
            ));
            prop_assert!(!open, "{:#?}", terms.because);
        }
        // Everything that is shown has its source, and the terms can be said and kept.
        for because in &terms.because {
            prop_assert!(because.source().is_none_or(|source| terms.sources.contains(source)));
        }
        let speech = say::Speech { lang: words::Lang::Es, zone: facts.zone.clone() };
        for because in &terms.because {
            prop_assert!(!speech.because(because).is_empty());
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in "[a-z_]{0,8}( = |\\[\\[|\\]\\]|\n|\"|[0-9:TZ-]){0,12}") {
        if let Err(faults) = facts::read(&text, Standards::embedded()) {
            prop_assert!(!faults.is_empty());
        }
    }

    /// A second order of the client never loosens.
    #[test]
    fn a_client_never_loosens(gap_s in 1_i64..10_000, facts in any_facts()) {
        let gap = |facts: &Facts| Terms::of(facts, Standards::embedded()).gaps.first().map(|gap| gap.gap_s);
        let before = gap(&facts);
        let mut after = facts.clone();
        after.orders.push(facts::Order::stating_gap(Origin::Client, None, None, Some(gap_s)));
        prop_assert_eq!(gap(&after), Some(before.unwrap_or(gap_s).min(gap_s)));
    }
}
