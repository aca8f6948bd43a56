//! Moving a part: corners that lie on each other move together, and doors go along with their walls.

use crate::drawing::{Drawing, Part};
use crate::snap::{foot, whole};
use floorplan::{LevelId, Point, RoomId};

/// A door belongs to a wall when both of its jambs are this near, in millimetres.
const IN_WALL_MM: i64 = 30;

/// Where a door lies: the room and side it belongs to, and how far along.
struct Hung {
    door: usize,
    room: usize,
    side: usize,
    /// Its middle along the side, 0 to 1.
    along: f64,
    half_mm: f64,
    turned: bool,
}

impl Drawing {
    /// Moves a part so that its place becomes `to`.
    pub(crate) fn move_to(&mut self, part: &Part, to: Point) {
        let Some(from) = self.place(part) else { return };
        let by = Point::new(to.x - from.x, to.y - from.y);
        match part {
            Part::Room(id) => self.move_room(id, by),
            Part::Corner(id, _) => self.move_corner(id, from, to),
            Part::Door(id) => {
                if let Some(door) = self.plan.openings.iter_mut().find(|it| it.id == *id) {
                    door.line = door.line.map(|p| plus(p, by));
                }
            }
            Part::Foot(id, level) => self.move_foot(id, level, by),
            Part::Stop(id) => {
                let level = self.level_of(part);
                let zone = level.and_then(|level| self.zone_at(&level, to));
                if let Some(stop) = self.plan.stops.iter_mut().find(|it| it.id == *id) {
                    stop.at = Some(to);
                    stop.zone = zone.unwrap_or_else(|| stop.zone.clone());
                }
            }
            Part::Thing(id) => {
                let thing = self.plan.equipment.iter_mut().find(|it| it.id == *id);
                thing.into_iter().for_each(|it| it.at = to);
            }
            Part::Mark(id) => {
                let mark = self.plan.marks.iter_mut().find(|it| it.id == *id);
                mark.into_iter().for_each(|it| it.at = to);
            }
        }
    }

    /// A stair stands over itself: feet that lie over each other move together.
    fn move_foot(&mut self, id: &floorplan::LinkId, level: &LevelId, by: Point) {
        let Some(from) = self.foot(id, level).map(|foot| foot.at) else { return };
        let Some(link) = self.plan.links.iter_mut().find(|it| it.id == *id) else { return };
        for foot in link.feet.iter_mut().filter(|foot| foot.at == from) {
            foot.at = plus(foot.at, by);
        }
    }

    fn move_corner(&mut self, id: &RoomId, from: Point, to: Point) {
        let Some(level) = self.level_of(&Part::Room(id.clone())) else { return };
        let hung = self.hung(&level, |_| true);
        for room in self.plan.rooms.iter_mut().filter(|room| room.level == level) {
            for corner in room.shape.rings.iter_mut().flatten().filter(|c| **c == from) {
                *corner = to;
            }
        }
        self.hang(hung);
    }

    fn move_room(&mut self, id: &RoomId, by: Point) {
        let Some(level) = self.level_of(&Part::Room(id.clone())) else { return };
        let Some(index) = self.plan.rooms.iter().position(|room| room.id == *id) else { return };
        let hung = self.hung(&level, |room| room == index);
        let inside = self.standing_in(index);
        for corner in self.plan.rooms[index].shape.rings.iter_mut().flatten() {
            *corner = plus(*corner, by);
        }
        self.hang(hung);
        for part in inside {
            if let Some(at) = self.place(&part) {
                self.move_to(&part, plus(at, by));
            }
        }
    }

    /// Stops, equipment and marks that stand in a room.
    fn standing_in(&self, room: usize) -> Vec<Part> {
        let (level, plan) = (&self.plan.rooms[room].level, &self.plan);
        let here = |at: Point| self.room_at(level, at) == Some(room);
        let stops = plan.stops.iter().filter(|it| it.level.as_ref() == Some(level));
        let stops = stops.filter(|it| it.at.is_some_and(here)).map(|it| Part::Stop(it.id.clone()));
        let things = plan.equipment.iter().filter(|it| it.level == *level && here(it.at));
        let marks = plan.marks.iter().filter(|it| it.level == *level && here(it.at));
        stops
            .chain(things.map(|it| Part::Thing(it.id.clone())))
            .chain(marks.map(|it| Part::Mark(it.id.clone())))
            .collect()
    }

    /// The doors of a level with the walls they lie in.
    fn hung(&self, level: &LevelId, of: impl Fn(usize) -> bool) -> Vec<Hung> {
        let doors = self.plan.openings.iter().enumerate().filter(|(_, it)| it.level == *level);
        doors.filter_map(|(i, it)| self.wall_of(i, it.line, level, &of)).collect()
    }

    fn wall_of(
        &self,
        door: usize,
        line: [Point; 2],
        level: &LevelId,
        of: impl Fn(usize) -> bool,
    ) -> Option<Hung> {
        for (r, room) in self.plan.rooms.iter().enumerate() {
            if room.level != *level || !of(r) {
                continue;
            }
            let Some(ring) = room.shape.rings.first() else { continue };
            for side in 0..ring.len() {
                let (a, b) = (ring[side], ring[(side + 1) % ring.len()]);
                if line.iter().any(|&jamb| foot(a, b, jamb).distance_mm(jamb) > IN_WALL_MM) {
                    continue;
                }
                let along = |p: Point| share(a, b, p);
                let (one, two) = (along(line[0]), along(line[1]));
                let half_mm = line[0].distance_mm(line[1]) as f64 / 2.0;
                let along = (one + two) / 2.0;
                return Some(Hung { door, room: r, side, along, half_mm, turned: one > two });
            }
        }
        None
    }

    /// Puts doors back into their walls.
    fn hang(&mut self, hung: Vec<Hung>) {
        for Hung { door, room, side, along, half_mm, turned } in hung {
            let Some(ring) = self.plan.rooms[room].shape.rings.first() else { continue };
            let (a, b) = (ring[side], ring[(side + 1) % ring.len()]);
            let length = libm::hypot((b.x - a.x) as f64, (b.y - a.y) as f64);
            if length < 1.0 {
                continue;
            }
            let half = half_mm.min(length / 2.0) / length;
            let middle = along.clamp(half, 1.0 - half);
            let at = |t: f64| {
                whole(a.x as f64 + t * (b.x - a.x) as f64, a.y as f64 + t * (b.y - a.y) as f64)
            };
            let line = [at(middle - half), at(middle + half)];
            self.plan.openings[door].line = if turned { [line[1], line[0]] } else { line };
        }
    }
}

/// How far along a segment the foot of a point lies, 0 to 1.
fn share(a: Point, b: Point, p: Point) -> f64 {
    let (dx, dy) = ((b.x - a.x) as f64, (b.y - a.y) as f64);
    let square = dx * dx + dy * dy;
    if square == 0.0 { 0.0 } else { ((p.x - a.x) as f64 * dx + (p.y - a.y) as f64 * dy) / square }
}

/// A point moved by another.
pub(crate) fn plus(a: Point, by: Point) -> Point {
    Point::new(a.x + by.x, a.y + by.y)
}
