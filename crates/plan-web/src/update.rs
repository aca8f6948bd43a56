//! The one door: an event changes the model.

use crate::drawing::Part;
use crate::listing::named;
use crate::model::{Event, GRID_MM, Model, Said, Tool};
use crate::moving::plus;
use floorplan::Point;

/// Lets something happen.
pub fn update(event: Event, model: &mut Model) {
    match event {
        Event::Take(tool) => take(model, tool),
        Event::Down(at, mm_per_px) => model.down(at, mm_per_px),
        Event::Move(at, mm_per_px) => model.moved_to(at, mm_per_px),
        Event::Up(at, mm_per_px) => model.up(at, mm_per_px),
        Event::Step(right, up) => step(model, Point::new(right * GRID_MM, up * GRID_MM)),
        Event::Enter => enter(model),
        Event::Escape => escape(model),
        Event::Delete => delete(model),
        Event::Undo => undo(model),
        Event::Redo => redo(model),
        Event::Choose(part) => choose(model, part),
        Event::Show(level) => show(model, level),
        Event::Edit(edit) => model.edit(edit),
    }
    let gone = model.chosen.as_ref().is_some_and(|part| !model.drawing.has(part));
    if gone {
        model.chosen = None;
    }
    if !model.drawing.plan.levels.iter().any(|level| level.id == model.level) {
        let first = model.drawing.plan.levels.first().map(|level| level.id.clone());
        model.level = first.unwrap_or_else(|| model.level.clone());
    }
}

fn take(model: &mut Model, tool: Tool) {
    model.tool = tool;
    model.ring.clear();
    model.measure.clear();
    model.press = None;
    model.moved = None;
    if tool != Tool::Choose && tool != Tool::Stop {
        model.chosen = None;
    }
}

fn choose(model: &mut Model, part: Option<Part>) {
    model.tool = Tool::Choose;
    model.ring.clear();
    model.moved = None;
    let level = part.as_ref().and_then(|part| model.drawing.level_of(part));
    if let Some(level) = level.filter(|level| *level != model.level) {
        model.level = level;
        model.version += 1;
    }
    model.said = part.as_ref().map(|part| Said::Chosen(named(&model.drawing, model.lang, part)));
    model.chosen = part;
}

fn show(model: &mut Model, level: floorplan::LevelId) {
    model.ring.clear();
    model.measure.clear();
    model.press = None;
    model.chosen = None;
    model.moved = None;
    model.zone = None;
    model.version += 1;
    model.said = Some(Said::Level(model.drawing.level_name(&level)));
    model.level = level;
}

/// With nothing to move, the arrow keys move the cross.
fn step(model: &mut Model, by: Point) {
    match (model.tool, model.chosen.clone()) {
        (Tool::Shift, _) => model.shift_picture(by),
        (Tool::Choose, Some(part)) => {
            if let Some(at) = model.drawing.place(&part) {
                model.move_part(&part, plus(at, by));
            }
        }
        _ => {
            model.cross = plus(model.cross, by);
            model.by_keys = true;
            model.said = Some(Said::Cross(model.cross));
        }
    }
}

/// The keyboard's press; on the last corner again it closes the room.
fn enter(model: &mut Model) {
    model.by_keys = true;
    let at = model.cross;
    if let Tool::Room(kind) = model.tool
        && model.ring.len() >= 3
        && model.ring.last() == Some(&at)
    {
        model.close(kind);
        return;
    }
    model.press_at(at, GRID_MM);
}

fn escape(model: &mut Model) {
    model.press = None;
    model.moved = None;
    if !model.ring.is_empty() {
        model.ring.clear();
    } else if !model.measure.is_empty() {
        model.measure.clear();
    } else if let Some(Part::Corner(room, _)) = model.chosen.clone() {
        model.chosen = Some(Part::Room(room));
    } else if model.chosen.is_some() {
        model.chosen = None;
    } else {
        model.tool = Tool::Choose;
    }
}

fn delete(model: &mut Model) {
    if model.ring.pop().is_some() {
        model.said = Some(Said::Corner(model.ring.len()));
        return;
    }
    let Some(part) = model.chosen.take() else { return };
    let name = named(&model.drawing, model.lang, &part);
    model.change(|drawing| drawing.remove(&part));
    if let Part::Corner(room, _) = part {
        model.chosen = Some(Part::Room(room));
    }
    model.said = Some(Said::Removed(name));
}

fn undo(model: &mut Model) {
    model.moved = None;
    // A corner too many is the smallest step back.
    if model.ring.pop().is_some() {
        model.said = Some(Said::Corner(model.ring.len()));
        return;
    }
    let Some(before) = model.undo.pop() else {
        model.said = Some(Said::NoStep);
        return;
    };
    model.version += 1;
    model.redo.push(std::mem::replace(&mut model.drawing, before));
    model.said = Some(Said::Undone(model.undo.len()));
}

fn redo(model: &mut Model) {
    model.moved = None;
    let Some(after) = model.redo.pop() else {
        model.said = Some(Said::NoStep);
        return;
    };
    model.version += 1;
    model.undo.push(std::mem::replace(&mut model.drawing, after));
    model.said = Some(Said::Redone);
}

#[cfg(test)]
mod tests;
