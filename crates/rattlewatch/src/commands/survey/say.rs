//! The survey for people and for machines.

use super::walk::Seen;
use floorplan::{LevelId, Plan, Survey};
use rules::say::{Say, survey};
use serde_json::{Value, json};
use std::fmt::Write;
use words::{Lang, survey as say};

/// The page for people.
pub(super) fn page(lang: Lang, plan: &Plan, found: &Survey, seen: Option<&Seen>) -> String {
    let mut out = String::new();
    let mut line = |text: String| {
        let _ = writeln!(out, "{text}");
    };
    let (floor, levels) = (format!("{:.0}", found.floor_m2), found.levels.len() as i64);
    line(say::title(lang, floor, levels, &plan.name));
    for lost in &found.unreachable {
        let name = plan.rooms.iter().find(|room| room.id == lost.room).map(|room| &room.name);
        let room = match name {
            Some(name) if name != lost.room.as_str() => format!("{name} ({})", lost.room),
            _ => lost.room.to_string(),
        };
        line(say::lost(lang, named(plan, &lost.spot.level), lost.missing.say(lang), room));
    }
    found.loose_doors.iter().for_each(|door| line(say::loose_door(lang, door)));
    found.loose_links.iter().for_each(|link| line(say::loose_link(lang, link)));
    found.without_floor.iter().for_each(|(level, why)| line(say::no_floor(lang, level, why)));
    found.checks.iter().for_each(|check| line(survey::check(lang, plan, check)));
    if found.grid_m > 1 {
        line(say::coarse(lang, found.grid_m));
    }
    if let Some(seen) = seen {
        walk(lang, seen).into_iter().for_each(&mut line);
    }
    line(say::local(lang).to_owned());
    out
}

/// The survey for machines, with the sentences of the page.
pub(super) fn json(lang: Lang, plan: &Plan, found: &Survey, seen: Option<&Seen>) -> Value {
    let mut value = found.json(plan);
    for (check, json) in
        found.checks.iter().zip(value["checks"].as_array_mut().into_iter().flatten())
    {
        json["says"] = survey::what(lang, check).into();
    }
    if let Some(seen) = seen {
        let metres = |v: f64| (v * 1e3).round() / 1e3;
        let places = |list: &[planner::seeing::Place]| -> Vec<Value> {
            let place = |place: &planner::seeing::Place| {
                let level = seen.levels.get(place.floor);
                json!({ "level": level, "at_m": [metres(place.at.x / 1e3), metres(place.at.y / 1e3)] })
            };
            list.iter().map(place).collect()
        };
        let it = &seen.walk;
        value["walk"] = json!({
            "length_m": metres(it.length / 1e3), "bound_m": metres(it.bound / 1e3), "sight_m": seen.sight_m,
            "floor_m2": metres(it.floor_area / 1e6), "unseen_m2": it.unseen_area / 1e6,
            "apart_m2": metres(seen.apart_mm2 / 1e6), "viewpoints": places(&it.viewpoints),
            "in_passing": it.in_passing, "walk": places(&it.walk),
        });
    }
    value
}

fn walk(lang: Lang, seen: &Seen) -> Vec<String> {
    let it = &seen.walk;
    let (metres, area) =
        (|mm: f64| format!("{:.0}", mm / 1e3), |mm2: f64| format!("{:.1}", mm2 / 1e6));
    let (length, floor) = (metres(it.length), area(it.floor_area));
    let first = if it.unseen_area == 0.0 {
        // Rounded down, so that the sentence stays true.
        let bound = format!("{:.0}", (it.bound / 1e3).floor());
        say::walk(lang, bound, it.viewpoints.len(), floor, length)
    } else {
        say::walk_left(lang, floor, length, area(it.unseen_area))
    };
    let mut out = vec![first, say::walk_sight(lang, seen.sight_m)];
    if seen.apart_mm2 > 5e4 {
        out.push(say::walk_apart(lang, area(seen.apart_mm2)));
    }
    out
}

fn named<'a>(plan: &'a Plan, level: &'a LevelId) -> &'a str {
    plan.levels.iter().find(|l| l.id == *level).map_or(level.as_str(), |level| &level.name)
}
