//! The plan level by level, with the round over it and the way to the next stop.

use super::{Block, Control, PlanStop, PlanView, Tone, back, heading, words_block};
use crate::model::Model;
use crate::round::{self as journey, Progress};
use crate::site::Site;
use crate::tap::{Page, Tap};
use floorplan::{LevelId, Plan, Point};
use ledger::order;
use record::documents::{Leg, Piece};
use watch::State;
use words::{Lang, reminders as w};

/// A level: the one of the next stop unless another is asked for.
pub(super) fn plan(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
    (asked, near): (Option<&LevelId>, bool),
) -> Vec<Block> {
    let guard = model.person();
    let progress = guard.and_then(|guard| journey::progress(model, state, guard));
    let next = progress.as_ref().and_then(Progress::next).map(|next| &next.stop);
    let level = asked.or_else(|| site.level_drawn(next?));
    let (Some(plan), Some(level)) = (site.plan(), level) else {
        return vec![words_block("plan-none", w::plan_none(lang), Tone::Plain), back(lang)];
    };
    let legs = site.legs(model, guard);
    // A stop may come twice in a round: the leg at its place in the order counts.
    let place = progress.as_ref().and_then(|progress| {
        progress.stops.iter().position(|stop| stop.stroke == journey::Stroke::Here)
    });
    let at_place = place.and_then(|place| legs.get(place)).filter(|leg| Some(&leg.to) == next);
    let leg = at_place.or_else(|| legs.iter().find(|leg| Some(&leg.to) == next));
    let on = |leg: &Leg| -> Vec<Vec<Point>> {
        let here = leg.pieces.iter().filter(|piece| piece.level == level.as_str());
        here.map(line).collect()
    };
    let ahead = leg.map(on).unwrap_or_default();
    let name = name(plan, level);
    let second = next.map(|next| w::plan_next(lang, site.stop(next)));
    let mut blocks = vec![heading("plan-title", name.clone(), second)];
    if let Some(says) = leg.and_then(|leg| over_links(plan, leg, lang)) {
        blocks.push(words_block("plan-way", says, Tone::Plain));
    }
    let is_near = near && !ahead.is_empty();
    let can_near = !ahead.is_empty();
    blocks.push(Block::Plan(PlanView {
        plan: plan.clone(),
        level: level.clone(),
        walks: legs.iter().flat_map(on).collect(),
        ahead,
        stops: stops(site, progress.as_ref(), level),
        near: is_near,
        says: w::plan_says(lang, name, site.name()),
    }));
    if can_near {
        let says = if is_near { w::plan_whole(lang) } else { w::plan_near(lang) };
        let turn = Tap::Open(Page::Plan { level: Some(level.clone()), near: !is_near });
        blocks.push(Block::Act(Control::plain("plan-near", says, turn)));
    }
    blocks.push(Block::Row(beside(plan, level, lang)));
    blocks.push(back(lang));
    blocks
}

fn line(piece: &Piece) -> Vec<Point> {
    piece.line.iter().map(|[x, y]| Point::new(*x, *y)).collect()
}

fn name(plan: &Plan, level: &LevelId) -> String {
    let known = plan.levels.iter().find(|known| known.id == *level);
    known.map_or_else(|| level.to_string(), |known| known.name.clone())
}

/// By which stair, ramp or lift the way changes its level, in words.
fn over_links(plan: &Plan, leg: &Leg, lang: Lang) -> Option<String> {
    let (first, last) = (leg.pieces.first()?, leg.pieces.last()?);
    if first.level == last.level {
        return None;
    }
    let [x, y] = *first.line.last()?;
    let foot = |link: &&floorplan::Link| {
        let mut feet = link.feet.iter();
        feet.any(|foot| foot.level.as_str() == first.level && foot.at == Point::new(x, y))
    };
    let link = plan.links.iter().find(foot)?;
    let to = plan.levels.iter().find(|level| level.id.as_str() == last.level)?;
    Some(w::plan_over(lang, &to.name, &link.name))
}

fn stops(site: &Site<'_>, progress: Option<&Progress>, level: &LevelId) -> Vec<PlanStop> {
    let stops = progress.map(|progress| progress.stops.as_slice()).unwrap_or_default();
    let drawn = stops.iter().enumerate().filter_map(|(i, stop)| {
        let place = site.place(&stop.stop)?;
        let at = place.at.filter(|_| place.level.as_ref() == Some(level))?;
        Some(PlanStop { at, number: i + 1, stroke: stop.stroke })
    });
    drawn.collect()
}

/// The levels above and below, if something is drawn on them.
fn beside(plan: &Plan, level: &LevelId, lang: Lang) -> Vec<Control> {
    let drawn = |id: &LevelId| plan.rooms.iter().any(|room| room.level == *id);
    let mut levels: Vec<_> = plan.levels.iter().filter(|known| drawn(&known.id)).collect();
    order::sort_by_key(&mut levels, |known| known.elevation_mm);
    let Some(here) = levels.iter().position(|known| known.id == *level) else {
        return Vec::new();
    };
    let to = |id: &str, place: Option<usize>| {
        let known = levels.get(place?)?;
        let open = Tap::Open(Page::Plan { level: Some(known.id.clone()), near: false });
        Some(match id {
            "plan-down" => Control::plain(id, w::plan_down(lang, &known.name), open),
            _ => Control::plain(id, w::plan_up(lang, &known.name), open),
        })
    };
    let down = to("plan-down", here.checked_sub(1));
    down.into_iter().chain(to("plan-up", Some(here + 1))).collect()
}
