//! What a survey measured and what it missed, in the reader's words.

use super::Say;
use floorplan::Plan;
use floorplan::survey::{Check, Missing, What};
use std::fmt::Write;
use words::{Lang, survey as say};

/// One check as a line: what, how much, where, the limit, the source.
pub fn check(lang: Lang, plan: &Plan, check: &Check) -> String {
    let verdict = match check.ok {
        Some(true) => say::within(lang),
        Some(false) => say::beyond(lang),
        None => say::stated(lang),
    };
    let unit = if check.what == What::ClassAArea { "m²" } else { "m" };
    let amount = |mm: f64| format!("{:.1} {unit}", mm / check.scale());
    let measured = if check.measured_mm.is_finite() {
        amount(check.measured_mm)
    } else {
        say::nothing_there(lang).to_owned()
    };
    let mut text = format!("{}: {measured}", what(lang, check));
    if let Some(place) = &check.place {
        let metres = |mm: i64| format!("{:.1}", mm as f64 / 1e3);
        let (x, y) = (metres(place.at.x), metres(place.at.y));
        let level = plan.levels.iter().find(|level| level.id == place.level);
        let level = level.map_or(place.level.as_str(), |level| &level.name);
        let _ = write!(text, " {}", say::at(lang, level, x, y));
    }
    if let Some(limit) = check.limit_mm {
        let _ = write!(text, "; {}, {verdict}", say::limit(lang, amount(limit)));
    }
    let source = if check.source.is_empty() { say::no_source(lang) } else { &check.source };
    let _ = write!(text, " [{source}]");
    text
}

/// What a check measures.
pub fn what(lang: Lang, check: &Check) -> String {
    let (of, to) = (&check.of, &check.to);
    match check.what {
        What::ExitTravel => say::exit_travel(lang).to_owned(),
        What::NoExit => say::no_exit(lang).to_owned(),
        What::OnlyDoor => say::only_door(lang).to_owned(),
        What::CallSpot => say::call_spot(lang).to_owned(),
        What::ClassATravel => say::class_a_travel(lang).to_owned(),
        What::ClassANone => say::class_a_none(lang).to_owned(),
        What::ClassAArea => say::class_a_area(lang).to_owned(),
        What::ClassBTravel => say::class_b_travel(lang, of),
        What::HotWorkCombustible => say::hot_work_combustible(lang, of, to),
        What::HotWorkOpening => say::hot_work_opening(lang, of, to),
        What::HotWorkExtinguisher => say::hot_work_extinguisher(lang, of),
    }
}

impl Say for Missing {
    fn say(self, lang: Lang) -> &'static str {
        match self {
            Missing::Door => say::missing_door(lang),
            Missing::WayIn => say::missing_way_in(lang),
            Missing::Stair => say::missing_stair(lang),
        }
    }
}
