//! What only a drawn plan can tell: the rounds level by level, and which locked doors are in the way.

use super::Found;
use super::places::Site;
use anyhow::{Result, bail};
use floorplan::{Leaf, Opening, Spot, Trail};
use picture::plan::{Over, Round, plan_svg};
use planner::answer::{Answer, Conflict, Question};
use planner::ground::Stations;
use planner::{Demands, Plan};
use words::{Lang, route as said};

/// The rounds on one level, or on every level one above the other, the highest on top.
pub(super) fn levels(
    lang: Lang,
    site: &Site,
    found: &Found<'_>,
    plan: &Plan,
    level: &str,
) -> Result<String> {
    let known = &site.plan.levels;
    if !level.is_empty() {
        let Some(known) = known.iter().find(|l| l.id.as_str() == level || l.name == level) else {
            let names: Vec<&str> = known.iter().map(|l| l.id.as_str()).collect();
            bail!("there is no level {level:?}; there are {}", names.join(", "));
        };
        let over = over(lang, site, found, plan, known.id.as_str());
        return match plan_svg(&site.plan, &known.id, &over) {
            Some(svg) => Ok(svg),
            None => bail!("nothing is drawn on level {level:?}"),
        };
    }
    let (mut body, mut height) = (String::new(), 0.0);
    for level in known.iter().rev() {
        let over = over(lang, site, found, plan, level.id.as_str());
        let Some(svg) = plan_svg(&site.plan, &level.id, &over) else { continue };
        let own = own_height(&svg);
        let placed = format!("<svg x=\"0\" y=\"{height:.0}\" width=\"1200\" height=\"{own:.0}\" ");
        body.push_str(&svg.replacen("<svg ", &placed, 1));
        height += own;
    }
    if body.is_empty() {
        bail!("no level of the plan is drawn: import or draw its rooms first");
    }
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 1200 {height:.0}\">{body}</svg>\n"
    ))
}

/// The height that a level's picture states in its `viewBox`.
fn own_height(svg: &str) -> f64 {
    let stated = svg.split("viewBox=\"0 0 1200 ").nth(1).and_then(|rest| rest.split('"').next());
    stated.and_then(|height| height.parse().ok()).unwrap_or(900.0)
}

fn over(lang: Lang, site: &Site, found: &Found<'_>, plan: &Plan, level: &str) -> Over {
    let mut rounds = Vec::new();
    let mut guard = 1;
    for (team, legs) in plan.teams.iter().zip(&found.legs) {
        let last = guard + team.guards - 1;
        let name = if last == guard {
            said::round_name(lang, guard)
        } else {
            said::team_name(lang, format!("{guard}–{last}"))
        };
        guard = last + 1;
        let here = |stop: usize| found.places.list[stop].level == level;
        let stops = (team.round.iter().enumerate())
            .filter(|(_, stop)| here(**stop))
            .map(|(i, &stop)| {
                let (x, y) = found.places.list[stop].at_mm;
                (floorplan::Point::new(x, y), i + 1)
            })
            .collect();
        let lines = legs.iter().flatten().flat_map(|trail| pieces(site, trail, level)).collect();
        rounds.push(Round { name, lines, stops });
    }
    Over { rounds, lang: Some(lang), ..Over::exact() }
}

/// The parts of a way that lie on a level.
fn pieces(site: &Site, trail: &Trail, level: &str) -> Vec<Vec<floorplan::Point>> {
    let on = |floor: usize| site.level(floor) == level;
    let mut out: Vec<Vec<floorplan::Point>> = Vec::new();
    for pair in trail.steps.windows(2) {
        if pair[0].floor != pair[1].floor || !on(pair[0].floor) {
            continue;
        }
        let ends = [pair[0], pair[1]].map(|step| floorplan::floor::whole(step.inside));
        match out.last_mut() {
            Some(line) if line.last() == Some(&ends[0]) => line.push(ends[1]),
            _ => out.push(ends.to_vec()),
        }
    }
    out
}

/// Names the locked doors in the way of an answer given without keys, and whether it could be kept with them.
pub(super) fn keys(
    site: &Site,
    stations: &Stations,
    question: &Question<'_>,
    found: &mut Found<'_>,
    ask: impl Fn(&Question<'_>) -> Answer,
) {
    let ground = site.ground(true);
    let spots: Vec<Spot> = stations.list.iter().map(|s| s.spot.clone()).collect();
    let from = question.from.unwrap_or(0);
    if let Answer::Contradiction(conflicts) = found.answer {
        found.locked = (conflicts.iter())
            .map(|conflict| match conflict {
                Conflict::Unreachable { stop } => {
                    let trail = ground.trail(&spots, (from, *stop));
                    trail.map(|trail| locked(site, &trail)).unwrap_or_default()
                }
                _ => Vec::new(),
            })
            .collect();
    }
    let demands = Demands { walks: ground.walks(&spots), ..question.demands.clone() };
    if let Answer::Kept(kept) = ask(&Question { demands: &demands, ..*question }) {
        let legs = ground.legs(&spots, &kept.plan);
        let mut doors: Vec<String> =
            legs.iter().flatten().flatten().flat_map(|trail| locked(site, trail)).collect();
        doors.sort();
        doors.dedup();
        found.with_keys = doors;
    }
}

/// The locked doors that a way leads through.
fn locked(site: &Site, trail: &Trail) -> Vec<String> {
    let name = |door: &Opening| match door.name.as_str() {
        "" => door.id.to_string(),
        name => name.to_owned(),
    };
    let locked = site.plan.openings.iter().filter(|door| door.leaf == Leaf::Locked);
    locked
        .filter(|door| {
            let middle = floorplan::floor::place(floorplan::Point::new(
                (door.line[0].x + door.line[1].x) / 2,
                (door.line[0].y + door.line[1].y) / 2,
            ));
            trail.steps.iter().any(|step| {
                step.door
                    && site.level(step.floor) == door.level.as_str()
                    && step.at.distance(middle) <= 2.0 * floorplan::floor::MERGE_MM
            })
        })
        .map(name)
        .collect()
}
