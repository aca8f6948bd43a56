//! What lies under a press.

use crate::drawing::{Drawing, Part, middle};
use crate::snap::foot;
use floorplan::{LevelId, Point};

/// The part under a place: what stands there before doors, corners of the chosen room before doors, rooms last.
pub fn hit(
    drawing: &Drawing,
    level: &LevelId,
    chosen: Option<&Part>,
    at: Point,
    reach_mm: i64,
) -> Option<Part> {
    let plan = &drawing.plan;
    let mut near: Vec<(i64, Part)> = Vec::new();
    let mut put = |place: Option<Point>, part: Part| {
        if let Some(place) = place.filter(|place| place.distance_mm(at) <= reach_mm) {
            near.push((place.distance_mm(at), part));
        }
    };
    for stop in plan.stops.iter().filter(|stop| stop.level.as_ref() == Some(level)) {
        put(stop.at, Part::Stop(stop.id.clone()));
    }
    for it in plan.equipment.iter().filter(|it| it.level == *level) {
        put(Some(it.at), Part::Thing(it.id.clone()));
    }
    for mark in plan.marks.iter().filter(|mark| mark.level == *level) {
        put(Some(mark.at), Part::Mark(mark.id.clone()));
    }
    for link in &plan.links {
        for foot in link.feet.iter().filter(|foot| foot.level == *level) {
            put(Some(foot.at), Part::Foot(link.id.clone(), level.clone()));
        }
    }
    let nearest = near.into_iter().min().map(|(_, part)| part);
    nearest
        .or_else(|| corner(drawing, level, chosen, at, reach_mm))
        .or_else(|| door(drawing, level, at, reach_mm))
        .or_else(|| {
            let room = &plan.rooms[drawing.room_at(level, at)?];
            Some(Part::Room(room.id.clone()))
        })
}

/// A corner of the room that is chosen.
fn corner(
    drawing: &Drawing,
    level: &LevelId,
    chosen: Option<&Part>,
    at: Point,
    reach_mm: i64,
) -> Option<Part> {
    let (Part::Room(id) | Part::Corner(id, _)) = chosen? else { return None };
    if drawing.level_of(chosen?) != Some(level.clone()) {
        return None;
    }
    let near = drawing.ring(id)?.iter().enumerate().map(|(i, c)| (c.distance_mm(at), i));
    let (off, i) = near.min()?;
    (off <= reach_mm).then(|| Part::Corner(id.clone(), i))
}

fn door(drawing: &Drawing, level: &LevelId, at: Point, reach_mm: i64) -> Option<Part> {
    let doors = drawing.plan.openings.iter().filter(|door| door.level == *level);
    let near = doors.map(|door| {
        let [a, b] = door.line;
        (foot(a, b, at).distance_mm(at), middle(door.line).distance_mm(at), &door.id)
    });
    let (off, _, id) = near.min()?;
    (off <= reach_mm).then(|| Part::Door(id.clone()))
}
