//! The same sheet filled from the record: which zone was seen in which window, by whom.

use crate::tonight::{Naming, Tonight, clock};
use ledger::PersonId;
use record::HazardClass;
use std::collections::BTreeSet;
use watch::{Look, State};

/// What the record holds of a night, as it stands on a sheet.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filled {
    /// One for each row of the log.
    pub rows: Vec<FilledRow>,
    /// What was found, oldest first.
    pub found: Vec<Happened>,
    /// Who was told what, oldest first.
    pub told: Vec<Told>,
}

/// One due window.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FilledRow {
    /// The first look in it.
    pub start: String,
    /// The last look in it.
    pub end: String,
    /// By zone: it was recorded as seen.
    pub ticked: Vec<bool>,
    /// Who looked.
    pub initials: String,
    /// The numbers of the classes that were found.
    pub codes: String,
    /// Some of its looks were typed from paper or told by telephone.
    pub told_later: bool,
}

/// Something that was found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Happened {
    /// When.
    pub time: String,
    /// The number of its class.
    pub code: String,
    /// Where.
    pub place: String,
    /// In the writer's own words.
    pub what: String,
    /// What was done.
    pub done: String,
    /// Who.
    pub who: String,
}

/// Somebody was told something.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Told {
    /// When.
    pub time: String,
    /// Who.
    pub whom: String,
    /// How.
    pub how: String,
    /// What about.
    pub what: String,
}

impl Filled {
    /// The rows of a night; what was found and told is the caller's to put into words.
    pub fn of(state: &State, tonight: &Tonight, naming: &Naming<'_>) -> Filled {
        let windows = (0..tonight.rows.len()).map(|row| tonight.window_ms(row));
        let rows = windows
            .map(|window| match window {
                Some(window) => row(state, tonight, window, naming),
                None => FilledRow::default(),
            })
            .collect();
        Filled { rows, found: Vec::new(), told: Vec::new() }
    }
}

impl Tonight {
    /// From when to when a row lasts, ms UTC.
    pub fn window_ms(&self, row: usize) -> Option<(i64, i64)> {
        let step_ms = i64::from(self.step_s?) * 1000;
        let from_ms = self.from_ms? + step_ms * row as i64;
        Some((from_ms, from_ms + step_ms))
    }
}

fn row(state: &State, tonight: &Tonight, window: (i64, i64), naming: &Naming<'_>) -> FilledRow {
    let inside = |at_ms: i64| (window.0..window.1).contains(&at_ms);
    let looks_of = |zone: &crate::ZoneColumn| -> Vec<&Look> {
        let zone = zone.id.as_ref().and_then(|id| state.zone(id));
        let looks = zone.map_or(&[][..], |zone| &zone.looks);
        looks.iter().filter(|look| inside(look.written.when.at_ms)).collect()
    };
    let by_zone: Vec<Vec<&Look>> = tonight.zones.iter().map(looks_of).collect();
    let looks: Vec<&Look> = by_zone.iter().flatten().copied().collect();
    let times = || looks.iter().map(|look| look.written.when.at_ms);
    let time = |at_ms: Option<i64>| at_ms.map(|ms| clock(ms, naming)).unwrap_or_default();
    let who: BTreeSet<&PersonId> = looks.iter().map(|look| &look.written.who).collect();
    let found: BTreeSet<usize> = state
        .observations
        .iter()
        .filter(|observation| inside(observation.written.when.at_ms))
        .map(|observation| class_number(observation.class))
        .collect();
    FilledRow {
        start: time(times().min()),
        end: time(times().max()),
        ticked: by_zone.iter().map(|looks| !looks.is_empty()).collect(),
        initials: join(who.into_iter().map(|id| initials(&(naming.person)(id)))),
        codes: join(found.into_iter().map(|n| n.to_string())),
        told_later: looks.iter().any(|look| look.marks.paper || look.marks.phoned_in),
    }
}

fn join(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(" ")
}

/// `ID` of Ines Duarte.
fn initials(name: &str) -> String {
    name.split_whitespace().filter_map(|word| word.chars().next()).take(3).collect()
}

/// A class as the sheet numbers it, from 1.
pub(crate) fn class_number(class: HazardClass) -> usize {
    1 + HazardClass::ALL.iter().position(|known| *known == class).expect("all classes are listed")
}
