//! Putting things: doors into walls, and whatever stands in a room.

use crate::drawing::{Part, fresh};
use crate::listing::{mark_words, named, thing_words};
use crate::model::{Model, Said};
use crate::press::DOOR_MM;
use floorplan::fabric::Foot;
use floorplan::import::border;
use floorplan::{
    Equipment, EquipmentId, EquipmentKind, Leaf, Link, LinkId, LinkKind, Mark, MarkId, MarkKind,
    Opening, OpeningId, Point, RoomKind, Stop, StopId,
};
use words::drawing as said;

impl Model {
    pub(crate) fn door(&mut self, leaf: Leaf, at: Point, reach_mm: i64) {
        let found = self.in_wall(at, DOOR_MM).filter(|found| found.off_mm <= 2 * reach_mm);
        let Some(found) = found else {
            self.said = Some(Said::NoWall);
            return;
        };
        let taken = self.drawing.plan.openings.iter().map(|it| it.id.as_str());
        let id = OpeningId::from_name(&fresh(&format!("{} door", self.level), taken));
        let opening = Opening {
            id: id.clone(),
            name: String::new(),
            level: self.level.clone(),
            leaf,
            line: found.line,
            // In a wall of one room alone a door leads out.
            exit: found.joins.len() == 1 && leaf != Leaf::Window,
        };
        self.change(|drawing| drawing.plan.openings.push(opening));
        self.put(Part::Door(id));
    }

    /// A stair goes up from here to the next level, or down where there is none above.
    pub(crate) fn link(&mut self, kind: LinkKind, at: Point) {
        let at = self.inner(at);
        let levels = &self.drawing.plan.levels;
        let here = levels.iter().position(|level| level.id == self.level).unwrap_or(0);
        let other = if here + 1 < levels.len() { Some(here + 1) } else { here.checked_sub(1) };
        let mut met = vec![here];
        met.extend(other);
        met.sort_unstable();
        let feet = met.iter().map(|&i| Foot { level: levels[i].id.clone(), at }).collect();
        let number = self.drawing.plan.links.iter().filter(|link| link.kind == kind).count();
        let name = link_name(self.lang, kind, number);
        let taken = self.drawing.plan.links.iter().map(|it| it.id.as_str());
        let id = LinkId::from_name(&fresh(&name, taken));
        let link = Link { id: id.clone(), name, kind, feet, rounds: false, smoke_free: false };
        self.change(|drawing| drawing.plan.links.push(link));
        self.put(Part::Foot(id, self.level.clone()));
    }

    pub(crate) fn stop(&mut self, at: Point) {
        let at = self.inner(at);
        // A stop that the plan names without a place gets it here.
        if let Some(Part::Stop(id)) = self.chosen.clone()
            && self.drawing.plan.stop(&id).is_some_and(|stop| stop.at.is_none())
        {
            let level = self.level.clone();
            self.change(|drawing| {
                let stop = drawing.plan.stops.iter_mut().find(|stop| stop.id == id);
                stop.into_iter().for_each(|stop| {
                    (stop.level, stop.at) = (Some(level.clone()), Some(at));
                });
            });
            self.put(Part::Stop(id));
            return;
        }
        let Some(id) = self.change_with(|model| model.add_stop(at)) else { return };
        self.put(Part::Stop(id));
    }

    /// A stop named like the room it stands in; none where there is no zone.
    fn add_stop(&mut self, at: Point) -> Option<StopId> {
        let zone = self.drawing.zone_at(&self.level, at)?;
        let room = self.drawing.room_at(&self.level, at).map(|i| &self.drawing.plan.rooms[i]);
        let stops = &self.drawing.plan.stops;
        let level = self.drawing.level_name(&self.level);
        let base = match room {
            Some(room) => format!("{}, {level}", room.name),
            None => level,
        };
        let same = stops.iter().filter(|stop| stop.name.starts_with(&base)).count();
        let name = if same == 0 { base } else { format!("{base} {}", same + 1) };
        let id = StopId::from_name(&fresh(&name, stops.iter().map(|it| it.id.as_str())));
        self.drawing.plan.stops.push(Stop {
            id: id.clone(),
            name,
            zone,
            level: Some(self.level.clone()),
            at: Some(at),
            inspect_s: None,
        });
        Some(id)
    }

    /// A stop in every room of this level that can be walked and has none.
    pub(crate) fn stop_each(&mut self) -> usize {
        let rooms = self.drawing.plan.rooms.iter().filter(|room| {
            room.level == self.level
                && matches!(room.kind, RoomKind::Room | RoomKind::Corridor | RoomKind::Area)
        });
        let places: Vec<Point> = rooms
            .filter(|room| {
                let stops = self.drawing.plan.stops.iter();
                let mut here = stops.filter(|stop| stop.level.as_ref() == Some(&self.level));
                !here.any(|stop| stop.at.is_some_and(|at| room.shape.contains(at)))
            })
            .filter_map(|room| border::inside(&room.shape))
            .collect();
        self.change_with(|model| places.into_iter().filter_map(|at| model.add_stop(at)).count())
    }

    fn change_with<T>(&mut self, change: impl FnOnce(&mut Model) -> T) -> T {
        self.moved = None;
        let before = self.drawing.clone();
        let out = change(self);
        self.keep_step(before);
        out
    }

    pub(crate) fn thing(&mut self, kind: EquipmentKind, at: Point) {
        let at = self.inner(at);
        let name = thing_words(self.lang, kind).to_owned();
        let taken = self.drawing.plan.equipment.iter().map(|it| it.id.as_str());
        let id = EquipmentId::from_name(&fresh(&format!("{} {name}", self.level), taken));
        let rating = String::new();
        let thing = Equipment { id: id.clone(), name, kind, level: self.level.clone(), at, rating };
        self.change(|drawing| drawing.plan.equipment.push(thing));
        self.put(Part::Thing(id));
    }

    pub(crate) fn mark(&mut self, kind: MarkKind, at: Point) {
        let at = self.inner(at);
        let name = mark_words(self.lang, kind).to_owned();
        let taken = self.drawing.plan.marks.iter().map(|it| it.id.as_str());
        let id = MarkId::from_name(&fresh(&format!("{} {name}", self.level), taken));
        let mark = Mark { id: id.clone(), name, kind, level: self.level.clone(), at };
        self.change(|drawing| drawing.plan.marks.push(mark));
        self.put(Part::Mark(id));
    }

    pub(crate) fn measure_at(&mut self, at: Point) {
        if self.measure.len() >= 2 {
            self.measure.clear();
        }
        self.measure.push(at);
        let first = self.measure.len() == 1;
        self.said = Some(if first { Said::MeasureFirst } else { Said::MeasureSecond });
    }

    fn put(&mut self, part: Part) {
        self.said = Some(Said::Put(named(&self.drawing, self.lang, &part)));
        self.chosen = Some(part);
    }

    /// What stands in a room must not stand on its border, where two rooms could claim it.
    fn inner(&self, at: Point) -> Point {
        Point::new(crate::snap::grid(at.x), crate::snap::grid(at.y))
    }
}

/// Stairs are told apart by letters, as signs in buildings do (common practice).
fn link_name(lang: words::Lang, kind: LinkKind, number: usize) -> String {
    let letter = char::from(b'A' + (number % 26) as u8);
    match kind {
        LinkKind::Stair => said::name_stair(lang, letter),
        LinkKind::Ramp => said::name_ramp(lang, letter),
        LinkKind::Lift => said::name_lift(lang, letter),
    }
}
