//! Codes stand in lines for good: none is renamed or taken away.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

macro_rules! codes {
    ($($name:ident)*) => {
        BTreeMap::from([$((
            stringify!($name),
            record::$name::ALL.iter().map(|code| text(serde_json::to_value(code).unwrap())).collect(),
        )),*])
    };
}

#[test]
fn every_code_that_ever_was_still_is() {
    let now: BTreeMap<&str, BTreeSet<String>> = codes!(
        AlertCause Channel CheckedItem DemandFrom DrillStage EmergencyStage HazardClass HowSeen
        ImpairmentStep KeyKept Means PaperWhy Party PermitCheck ReleasedBy RestorationStep
        RestoreCause ReviewOf Role Severity System Table WhatDone WhyCorrected WhyNot
    );
    let kept = include_str!("../golden/codes.txt");
    let kept: BTreeMap<&str, BTreeSet<String>> = kept
        .lines()
        .filter_map(|line| line.split_once(": "))
        .filter(|(name, _)| !name.starts_with('#'))
        .map(|(name, codes)| (name, codes.split(' ').map(str::to_owned).collect()))
        .collect();
    assert_eq!(
        now, kept,
        "a new code gets a place in golden/codes.txt; an old one never leaves it"
    );
}

fn text(code: Value) -> String {
    code.as_str().expect("a code is a text").to_owned()
}
