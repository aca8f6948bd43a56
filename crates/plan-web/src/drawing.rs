//! What is drawn: the plan itself, and for each level the picture it is drawn over.

use crate::underlay::Underlay;
use floorplan::fabric::Foot;
use floorplan::{
    EquipmentId, Level, LevelId, LinkId, MarkId, OpeningId, Plan, Point, RoomId, StopId, Zone,
    ZoneId, ZoneKind,
};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// The longest gap that a zone begins with, in seconds (our own default; the terms of a watch decide).
pub const GAP_S: u32 = 1800;
/// From one level's floor to the next, in millimetres (our own default).
pub const STOREY_MM: i64 = 3200;

/// All that undo brings back and autosave keeps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drawing {
    /// The plan as it will be saved.
    pub plan: Plan,
    /// Pictures below the levels.
    pub pictures: BTreeMap<LevelId, Underlay>,
}

/// Something that can be chosen, moved and deleted.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Part {
    /// A room.
    Room(RoomId),
    /// One corner of a room.
    Corner(RoomId, usize),
    /// A door, gap or window.
    Door(OpeningId),
    /// A stair, ramp or lift where it meets a level.
    Foot(LinkId, LevelId),
    /// A stop.
    Stop(StopId),
    /// Equipment or a hazard.
    Thing(EquipmentId),
    /// A call spot, assembly or meeting point.
    Mark(MarkId),
}

impl Drawing {
    /// Nothing but one empty level with its zone.
    pub fn empty(site: &str, level: &str) -> Drawing {
        let mut drawing = Drawing { plan: Plan::new(site), pictures: BTreeMap::new() };
        drawing.add_level(level, 0, GAP_S);
        drawing
    }

    /// A plan that was there before. One without levels gets the first.
    pub fn of(plan: Plan, level: &str) -> Drawing {
        let mut drawing = Drawing { plan, pictures: BTreeMap::new() };
        if drawing.plan.levels.is_empty() {
            let gap_s = drawing.plan.zones.first().map_or(GAP_S, |zone| zone.gap_s);
            drawing.add_level(level, 0, gap_s);
        }
        drawing
    }

    /// A level with a zone of its own, in its place by height.
    pub(crate) fn add_level(&mut self, name: &str, elevation_mm: i64, gap_s: u32) -> LevelId {
        let id = fresh(name, self.plan.levels.iter().map(|level| level.id.as_str()));
        let id = LevelId::from_name(&id);
        let level = Level { id: id.clone(), name: name.to_owned(), elevation_mm };
        let place = self.plan.levels.iter().filter(|l| l.elevation_mm < elevation_mm).count();
        self.plan.levels.insert(place, level);
        if !self.plan.zones.iter().any(|zone| zone.level.as_ref() == Some(&id)) {
            self.add_zone(name, Some(id.clone()), gap_s);
        }
        id
    }

    /// A zone, last of all.
    pub(crate) fn add_zone(&mut self, name: &str, level: Option<LevelId>, gap_s: u32) -> ZoneId {
        let id = fresh(name, self.plan.zones.iter().map(|zone| zone.id.as_str()));
        let id = ZoneId::from_name(&id);
        self.plan.zones.push(Zone {
            id: id.clone(),
            name: name.to_owned(),
            level,
            kind: ZoneKind::General,
            gap_s,
            shape: None,
            sight_mm: None,
        });
        id
    }

    /// The level's own zone, else the first there is.
    pub fn zone_of_level(&self, level: &LevelId) -> Option<ZoneId> {
        let own = self.plan.zones.iter().find(|zone| zone.level.as_ref() == Some(level));
        own.or(self.plan.zones.first()).map(|zone| zone.id.clone())
    }

    /// The index of the smallest room under a place.
    pub fn room_at(&self, level: &LevelId, at: Point) -> Option<usize> {
        let rooms = self.plan.rooms.iter().enumerate();
        rooms
            .filter(|(_, room)| room.level == *level && room.shape.contains(at))
            .min_by_key(|(_, room)| room.shape.double_area_mm2())
            .map(|(i, _)| i)
    }

    /// The zone of whatever lies under a place.
    pub fn zone_at(&self, level: &LevelId, at: Point) -> Option<ZoneId> {
        let room = self.room_at(level, at).map(|i| &self.plan.rooms[i]);
        room.and_then(|room| room.zone.clone()).or_else(|| self.zone_of_level(level))
    }

    /// Whether a part is there.
    pub fn has(&self, part: &Part) -> bool {
        self.place(part).is_some() || matches!(part, Part::Stop(id) if self.plan.stop(id).is_some())
    }

    /// The level a part is on.
    pub fn level_of(&self, part: &Part) -> Option<LevelId> {
        let plan = &self.plan;
        match part {
            Part::Room(id) | Part::Corner(id, _) => {
                plan.rooms.iter().find(|it| it.id == *id).map(|it| it.level.clone())
            }
            Part::Door(id) => {
                plan.openings.iter().find(|it| it.id == *id).map(|it| it.level.clone())
            }
            Part::Foot(_, level) => Some(level.clone()),
            Part::Stop(id) => plan.stop(id).and_then(|it| it.level.clone()),
            Part::Thing(id) => {
                plan.equipment.iter().find(|it| it.id == *id).map(|it| it.level.clone())
            }
            Part::Mark(id) => plan.marks.iter().find(|it| it.id == *id).map(|it| it.level.clone()),
        }
    }

    /// A place of a part: a room's first corner, a door's middle, else where it stands.
    pub fn place(&self, part: &Part) -> Option<Point> {
        let plan = &self.plan;
        match part {
            Part::Room(id) => self.ring(id)?.first().copied(),
            Part::Corner(id, corner) => self.ring(id)?.get(*corner).copied(),
            Part::Door(id) => {
                plan.openings.iter().find(|it| it.id == *id).map(|it| middle(it.line))
            }
            Part::Foot(id, level) => self.foot(id, level).map(|foot| foot.at),
            Part::Stop(id) => plan.stop(id)?.at,
            Part::Thing(id) => plan.equipment.iter().find(|it| it.id == *id).map(|it| it.at),
            Part::Mark(id) => plan.marks.iter().find(|it| it.id == *id).map(|it| it.at),
        }
    }

    /// The outer ring of a room.
    pub fn ring(&self, id: &RoomId) -> Option<&Vec<Point>> {
        self.plan.rooms.iter().find(|room| room.id == *id)?.shape.rings.first()
    }

    /// Where a link meets a level.
    pub fn foot(&self, id: &LinkId, level: &LevelId) -> Option<&Foot> {
        let link = self.plan.links.iter().find(|link| link.id == *id)?;
        link.feet.iter().find(|foot| foot.level == *level)
    }

    /// Takes a part away. Of a triangle no corner can be taken.
    pub(crate) fn remove(&mut self, part: &Part) {
        let plan = &mut self.plan;
        match part {
            Part::Room(id) => plan.rooms.retain(|it| it.id != *id),
            Part::Corner(id, corner) => {
                let room = plan.rooms.iter_mut().find(|it| it.id == *id);
                let ring = room.and_then(|room| room.shape.rings.first_mut());
                if let Some(ring) = ring.filter(|ring| ring.len() > 3 && *corner < ring.len()) {
                    ring.remove(*corner);
                }
            }
            Part::Door(id) => plan.openings.retain(|it| it.id != *id),
            Part::Foot(id, _) => plan.links.retain(|it| it.id != *id),
            Part::Stop(id) => plan.stops.retain(|it| it.id != *id),
            Part::Thing(id) => plan.equipment.retain(|it| it.id != *id),
            Part::Mark(id) => plan.marks.retain(|it| it.id != *id),
        }
    }
}

/// The middle of a door.
pub fn middle([a, b]: [Point; 2]) -> Point {
    Point::new((a.x + b.x) / 2, (a.y + b.y) / 2)
}

/// An id made of a name that none of those taken has.
pub(crate) fn fresh<'a>(name: &str, taken: impl Iterator<Item = &'a str>) -> String {
    let taken: BTreeSet<&str> = taken.collect();
    let base = floorplan::id::slug(name);
    let numbered = (2..).map(|n| format!("{base}-{n}"));
    std::iter::once(base.clone())
        .chain(numbered)
        .find(|id| !taken.contains(id.as_str()))
        .unwrap_or(base)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_stand_by_height_and_bring_their_zone() {
        let mut drawing = Drawing::empty("Gannet Quay", "Ground");
        drawing.add_level("Level 1", 3200, 900);
        drawing.add_level("Cellar", -3000, 900);
        let names: Vec<&str> = drawing.plan.levels.iter().map(|l| l.name.as_str()).collect();
        assert_eq!(names, ["Cellar", "Ground", "Level 1"]);
        let zones: Vec<(&str, u32)> =
            drawing.plan.zones.iter().map(|z| (z.id.as_str(), z.gap_s)).collect();
        assert_eq!(zones, [("ground", 1800), ("level-1", 900), ("cellar", 900)]);
    }

    #[test]
    fn ids_stay_single() {
        assert_eq!(fresh("Hall", ["hall", "hall-2"].into_iter()), "hall-3");
        assert_eq!(fresh("Hall", std::iter::empty()), "hall");
    }
}
