//! What a press does with each tool: rooms and moving here, everything that is put in [`crate::putting`].

use crate::drawing::{Part, fresh, middle};
use crate::hit::hit;
use crate::listing::named;
use crate::model::{Model, Press, REACH_PX, Said, Tool};
use crate::moving::plus;
use crate::snap::{corners, snap};
use floorplan::import::border;
use floorplan::{Fault, OpeningId, Plan, Point, Room, RoomId, RoomKind, Shape};
use words::drawing as said;

/// A press that goes farther than this many pixels is a drag.
const DRAG_PX: f64 = 6.0;
/// The width that a door begins with, in millimetres (common practice: a leaf of 0.9 m).
pub(crate) const DOOR_MM: i64 = 900;
/// A rectangle must be at least this wide and high, in millimetres.
const RECTANGLE_MIN_MM: i64 = 300;

impl Model {
    pub(crate) fn down(&mut self, at: Point, mm_per_px: f64) {
        self.by_keys = false;
        let reach_mm = reach(mm_per_px);
        let mut press = Press { from: at, last: at, reach_mm, drags: false, pans: false };
        if self.tool == Tool::Choose {
            let found = hit(&self.drawing, &self.level, self.chosen.as_ref(), at, reach_mm);
            // A room is moved only once it is chosen: else a slip of the hand would move it.
            press.pans = match &found {
                None => true,
                Some(Part::Room(_)) => found != self.chosen,
                Some(_) => false,
            };
            self.said =
                found.as_ref().map(|part| Said::Chosen(named(&self.drawing, self.lang, part)));
            self.chosen = found;
            self.moved = None;
        }
        self.press = Some(press);
    }

    pub(crate) fn moved_to(&mut self, at: Point, mm_per_px: f64) {
        self.by_keys = false;
        let reach_mm = reach(mm_per_px);
        self.cross = snap(&self.drawing, &self.level, &self.ring, at, reach_mm).at;
        let Some(mut press) = self.press.take() else { return };
        let far = press.from.distance_mm(at) as f64 > DRAG_PX * mm_per_px;
        press.drags |= far;
        if press.drags {
            match self.tool {
                Tool::Choose if !press.pans => self.drag_chosen(&press, at),
                Tool::Shift => self.drag_picture(&press, at),
                _ => {}
            }
        }
        press.last = at;
        self.press = Some(press);
    }

    pub(crate) fn up(&mut self, at: Point, mm_per_px: f64) {
        let Some(press) = self.press.take() else { return };
        let far = press.from.distance_mm(at) as f64 > DRAG_PX * mm_per_px;
        match self.tool {
            Tool::Choose | Tool::Shift => self.moved = None,
            Tool::Room(kind) if self.ring.is_empty() && far => {
                self.rectangle(kind, press.from, at, press.reach_mm);
            }
            _ => self.press_at(at, press.reach_mm),
        }
    }

    /// A press with any tool but the two that drag.
    pub(crate) fn press_at(&mut self, at: Point, reach_mm: i64) {
        match self.tool {
            Tool::Choose | Tool::Shift => {
                let found = hit(&self.drawing, &self.level, self.chosen.as_ref(), at, reach_mm);
                self.said =
                    found.as_ref().map(|p| Said::Chosen(named(&self.drawing, self.lang, p)));
                self.chosen = found;
            }
            Tool::Room(kind) => self.corner(kind, at, reach_mm),
            Tool::Door(leaf) => self.door(leaf, at, reach_mm),
            Tool::Link(kind) => self.link(kind, at),
            Tool::Stop => self.stop(at),
            Tool::Thing(kind) => self.thing(kind, at),
            Tool::Mark(kind) => self.mark(kind, at),
            Tool::Measure => self.measure_at(at),
        }
    }

    /// A corner goes with the pointer to where it is meant, everything else by the way the pointer went.
    fn drag_chosen(&mut self, press: &Press, at: Point) {
        let Some(part) = self.chosen.clone() else { return };
        let Some(place) = self.drawing.place(&part) else { return };
        let by = Point::new(at.x - press.last.x, at.y - press.last.y);
        let to = match &part {
            Part::Corner(..) => {
                // Its own place must not hold it back.
                let others: Vec<Point> = corners(&self.drawing, &self.level);
                let near =
                    others.iter().filter(|c| **c != place && c.distance_mm(at) <= press.reach_mm);
                match near.min_by_key(|c| c.distance_mm(at)) {
                    Some(&corner) => corner,
                    None => straight(&others, place, at, press.reach_mm),
                }
            }
            Part::Door(_) => {
                let Some(found) = self.in_wall(at, self.door_width(&part)) else { return };
                middle(found.line)
            }
            _ => plus(place, by),
        };
        self.move_part(&part, to);
    }

    /// Moves a part; moving the same part on is the same step.
    pub(crate) fn move_part(&mut self, part: &Part, to: Point) {
        let before = self.drawing.clone();
        if let Part::Door(id) = part {
            self.move_door(id, to);
        } else {
            self.drawing.move_to(part, to);
        }
        if self.moved.as_ref() == Some(part) {
            self.redo.clear();
            self.version += 1;
        } else {
            self.keep_step(before);
        }
        self.moved = Some(part.clone());
        self.said = self.drawing.place(part).map(Said::Moved);
    }

    /// A door keeps its width and stays in a wall, perhaps another one.
    fn move_door(&mut self, id: &OpeningId, to: Point) {
        let width = self.door_width(&Part::Door(id.clone()));
        let Some(found) = self.in_wall(to, width) else { return };
        let Some(door) = self.drawing.plan.openings.iter_mut().find(|it| it.id == *id) else {
            return;
        };
        let (a, b) = (door.line[0], door.line[1]);
        let way = |line: [Point; 2]| (line[1].x - line[0].x, line[1].y - line[0].y);
        let (old, new) = (way([a, b]), way(found.line));
        let turned = old.0 * new.0 + old.1 * new.1 < 0;
        door.line = if turned { [found.line[1], found.line[0]] } else { found.line };
    }

    fn door_width(&self, part: &Part) -> i64 {
        let Part::Door(id) = part else { return DOOR_MM };
        let door = self.drawing.plan.openings.iter().find(|it| it.id == *id);
        door.map_or(DOOR_MM, |door| door.line[0].distance_mm(door.line[1]))
    }

    pub(crate) fn in_wall(&self, at: Point, width_mm: i64) -> Option<border::Found> {
        let rooms = self.drawing.plan.rooms.iter().enumerate();
        let here = rooms.filter(|(_, room)| room.level == self.level);
        border::place_door(at, width_mm, &border::sides(here.map(|(i, room)| (i, &room.shape))))
    }

    fn drag_picture(&mut self, press: &Press, at: Point) {
        let by = Point::new(at.x - press.last.x, at.y - press.last.y);
        self.shift_picture(by);
    }

    /// Moves the picture of this level; one drag is one step.
    pub(crate) fn shift_picture(&mut self, by: Point) {
        let before = self.drawing.clone();
        let Some(under) = self.drawing.pictures.get_mut(&self.level) else { return };
        under.middle = plus(under.middle, by);
        if self.moved.is_none() {
            self.keep_step(before);
        }
        self.version += 1;
        // Any part stands for the picture: the next one chosen begins a new step.
        self.moved = Some(Part::Room(RoomId::from_name("picture")));
    }

    fn corner(&mut self, kind: RoomKind, at: Point, reach_mm: i64) {
        let at = snap(&self.drawing, &self.level, &self.ring, at, reach_mm).at;
        if self.ring.len() >= 3 && self.ring[0] == at {
            self.close(kind);
            return;
        }
        if self.ring.last() != Some(&at) {
            self.ring.push(at);
        }
        self.cross = at;
        self.said = Some(Said::Corner(self.ring.len()));
    }

    /// Closes the corners to a room, if they enclose one.
    pub(crate) fn close(&mut self, kind: RoomKind) {
        let ring = std::mem::take(&mut self.ring);
        self.add_room(kind, ring);
    }

    fn rectangle(&mut self, kind: RoomKind, from: Point, to: Point, reach_mm: i64) {
        let a = snap(&self.drawing, &self.level, &[], from, reach_mm).at;
        let b = snap(&self.drawing, &self.level, &[], to, reach_mm).at;
        if (a.x - b.x).abs() < RECTANGLE_MIN_MM || (a.y - b.y).abs() < RECTANGLE_MIN_MM {
            self.said = Some(Said::NoRoom);
            return;
        }
        let shape = Shape::rectangle((a.x, a.y), (b.x, b.y));
        self.add_room(kind, shape.rings.into_iter().next().unwrap_or_default());
    }

    fn add_room(&mut self, kind: RoomKind, ring: Vec<Point>) {
        let plan = &self.drawing.plan;
        let number = plan.rooms.iter().filter(|room| room.kind == kind).count() as i64 + 1;
        let name = room_name(self.lang, kind, number);
        let id =
            fresh(&format!("{} {name}", self.level), plan.rooms.iter().map(|it| it.id.as_str()));
        let room = Room {
            id: RoomId::from_name(&id),
            name: name.clone(),
            level: self.level.clone(),
            kind,
            zone: kind.walkable().then(|| self.zone_now()).flatten(),
            shape: Shape { rings: vec![ring] },
        };
        if !encloses(&room) {
            self.said = Some(Said::NoRoom);
            return;
        }
        self.chosen = Some(Part::Room(room.id.clone()));
        self.change(|drawing| drawing.plan.rooms.push(room));
        self.said = Some(Said::Closed(name));
    }
}

/// How near is near on the screen as it is zoomed now, in millimetres.
pub(crate) fn reach(mm_per_px: f64) -> i64 {
    (libm::round(REACH_PX * mm_per_px) as i64).max(1)
}

/// A moved corner keeps straight with others.
fn straight(others: &[Point], own: Point, at: Point, reach_mm: i64) -> Point {
    let along = |value: i64, of: fn(&Point) -> i64| {
        let near = others.iter().filter(|c| **c != own).map(of);
        let near = near.filter(|v| (v - value).abs() <= reach_mm);
        near.min_by_key(|v| ((v - value).abs(), *v)).unwrap_or(crate::snap::grid(value))
    };
    Point::new(along(at.x, |p| p.x), along(at.y, |p| p.y))
}

/// Whether a room's border encloses floor without crossing itself.
fn encloses(room: &Room) -> bool {
    let mut plan = Plan::new("");
    plan.rooms.push(room.clone());
    let wrong = [Fault::Empty, Fault::Crossing, Fault::Far];
    !plan.check().iter().any(|found| wrong.contains(&found.fault))
}

fn room_name(lang: words::Lang, kind: RoomKind, number: i64) -> String {
    match kind {
        RoomKind::Room => said::name_room(lang, number),
        RoomKind::Corridor => said::name_corridor(lang, number),
        RoomKind::Area | RoomKind::Doorway => said::name_area(lang, number),
        RoomKind::Stair => said::name_stair_room(lang, number),
        RoomKind::Lift => said::name_lift_shaft(lang, number),
        RoomKind::Shaft => said::name_shaft(lang, number),
    }
}
