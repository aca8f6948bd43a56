//! Levels: one more, one copied upwards, one fewer.

use crate::drawing::{Drawing, STOREY_MM, fresh};
use floorplan::fabric::Foot;
use floorplan::{EquipmentId, LevelId, OpeningId, RoomId, StopId, ZoneId};
use std::collections::BTreeMap;

impl Drawing {
    /// An empty level above the highest; stairs that reach that one go on, if wished, by hand.
    pub(crate) fn level_above(&mut self, name: &str) -> LevelId {
        let (height, gap_s) = self.next_above();
        self.add_level(name, height, gap_s)
    }

    /// An empty level below the lowest.
    pub(crate) fn level_below(&mut self, name: &str) -> LevelId {
        let lowest = self.plan.levels.iter().map(|level| level.elevation_mm).min();
        let gap_s = self.plan.zones.first().map_or(crate::drawing::GAP_S, |zone| zone.gap_s);
        self.add_level(name, lowest.map_or(0, |mm| mm - STOREY_MM), gap_s)
    }

    /// The same rooms, doors, equipment and stops on a new level above the highest, in zones of its own. Stairs, ramps
    /// and lifts of the level go on up to it; doors out of the building do not, since above the ground there are none.
    pub(crate) fn copy_up(&mut self, from: &LevelId, name: &str) -> LevelId {
        let (height, gap_s) = self.next_above();
        let zones = self.plan.zones.clone();
        let to = self.add_level(name, height, gap_s);
        let own = self.zone_of_level(&to);
        let main = self.plan.zones.iter().find(|z| z.level.as_ref() == Some(from));
        let main = main.map(|zone| zone.id.clone());
        // The level's own zone becomes the new level's own; further ones are copied under its name.
        let mut zone_map: BTreeMap<ZoneId, ZoneId> = BTreeMap::new();
        if let (Some(main), Some(own)) = (main, own) {
            self.same_zone(&main, &own);
            zone_map.insert(main, own);
        }
        let used = self.zones_used_on(from);
        for zone in zones.iter().filter(|zone| used.contains(&zone.id)) {
            if !zone_map.contains_key(&zone.id) && zone.level.as_ref() == Some(from) {
                let called = format!("{} {name}", zone.name);
                let new = self.add_zone(&called, Some(to.clone()), zone.gap_s);
                self.same_zone(&zone.id, &new);
                zone_map.insert(zone.id.clone(), new);
            }
        }
        let mapped = |zone: &ZoneId| zone_map.get(zone).unwrap_or(zone).clone();
        self.copy_rooms(from, &to, &mapped);
        self.copy_doors(from, &to);
        self.copy_things(from, &to, &mapped);
        for link in &mut self.plan.links {
            let here = link.feet.iter().find(|foot| foot.level == *from).map(|foot| foot.at);
            if let Some(at) = here {
                link.feet.push(Foot { level: to.clone(), at });
            }
        }
        if let Some(under) = self.pictures.get(from).cloned() {
            self.pictures.insert(to.clone(), under);
        }
        to
    }

    /// Takes a level away with all that is on it.
    pub(crate) fn remove_level(&mut self, level: &LevelId) {
        let plan = &mut self.plan;
        plan.levels.retain(|it| it.id != *level);
        plan.rooms.retain(|it| it.level != *level);
        plan.walls.retain(|it| it.level != *level);
        plan.openings.retain(|it| it.level != *level);
        plan.equipment.retain(|it| it.level != *level);
        plan.marks.retain(|it| it.level != *level);
        plan.stops.retain(|it| it.level.as_ref() != Some(level));
        for link in &mut plan.links {
            link.feet.retain(|foot| foot.level != *level);
        }
        plan.links.retain(|link| !link.feet.is_empty());
        let stops = &plan.stops;
        let rooms = &plan.rooms;
        let used = |id: &ZoneId| {
            stops.iter().any(|stop| stop.zone == *id)
                || rooms.iter().any(|room| room.zone.as_ref() == Some(id))
        };
        plan.zones.retain(|zone| zone.level.as_ref() != Some(level) || used(&zone.id));
        for zone in plan.zones.iter_mut().filter(|zone| zone.level.as_ref() == Some(level)) {
            zone.level = None;
            zone.shape = None;
        }
        self.pictures.remove(level);
    }

    /// Height and longest gap of a level above the highest.
    fn next_above(&self) -> (i64, u32) {
        let highest = self.plan.levels.iter().max_by_key(|level| level.elevation_mm);
        let gap = |id: &LevelId| Some(self.plan.zone(&self.zone_of_level(id)?)?.gap_s);
        match highest {
            Some(level) => {
                let gap_s = gap(&level.id).unwrap_or(crate::drawing::GAP_S);
                (level.elevation_mm + STOREY_MM, gap_s)
            }
            None => (0, crate::drawing::GAP_S),
        }
    }

    fn zones_used_on(&self, level: &LevelId) -> Vec<ZoneId> {
        let rooms = self.plan.rooms.iter().filter(|room| room.level == *level);
        let stops = self.plan.stops.iter().filter(|stop| stop.level.as_ref() == Some(level));
        rooms.filter_map(|room| room.zone.clone()).chain(stops.map(|s| s.zone.clone())).collect()
    }

    /// Use, gap and sight of one zone for another.
    fn same_zone(&mut self, from: &ZoneId, to: &ZoneId) {
        let Some(like) = self.plan.zone(from).cloned() else { return };
        if let Some(zone) = self.plan.zones.iter_mut().find(|zone| zone.id == *to) {
            (zone.kind, zone.gap_s, zone.sight_mm) = (like.kind, like.gap_s, like.sight_mm);
        }
    }

    fn copy_rooms(&mut self, from: &LevelId, to: &LevelId, zone: &impl Fn(&ZoneId) -> ZoneId) {
        let here: Vec<_> = self.plan.rooms.iter().filter(|it| it.level == *from).cloned().collect();
        for mut room in here {
            let id =
                fresh(&format!("{to} {}", room.name), ids(&self.plan.rooms, |it| it.id.as_str()));
            room.id = RoomId::from_name(&id);
            room.level = to.clone();
            room.zone = room.zone.as_ref().map(zone);
            self.plan.rooms.push(room);
        }
    }

    fn copy_doors(&mut self, from: &LevelId, to: &LevelId) {
        let doors = self.plan.openings.iter().filter(|it| it.level == *from && !it.exit);
        let here: Vec<_> = doors.cloned().collect();
        for mut door in here {
            let taken = ids(&self.plan.openings, |it| it.id.as_str());
            door.id = OpeningId::from_name(&fresh(&format!("{to} door"), taken));
            door.level = to.clone();
            self.plan.openings.push(door);
        }
    }

    fn copy_things(&mut self, from: &LevelId, to: &LevelId, zone: &impl Fn(&ZoneId) -> ZoneId) {
        let stops = self.plan.stops.iter().filter(|it| it.level.as_ref() == Some(from));
        let (old, new) = (self.level_name(from), self.level_name(to));
        for mut stop in stops.cloned().collect::<Vec<_>>() {
            stop.name = renamed(&stop.name, &old, &new);
            let taken = ids(&self.plan.stops, |it| it.id.as_str());
            stop.id = StopId::from_name(&fresh(&stop.name, taken));
            stop.level = Some(to.clone());
            stop.zone = zone(&stop.zone);
            self.plan.stops.push(stop);
        }
        let things = self.plan.equipment.iter().filter(|it| it.level == *from);
        for mut thing in things.cloned().collect::<Vec<_>>() {
            let taken = ids(&self.plan.equipment, |it| it.id.as_str());
            thing.id = EquipmentId::from_name(&fresh(&format!("{to} {}", thing.name), taken));
            thing.level = to.clone();
            self.plan.equipment.push(thing);
        }
    }

    /// What people call a level.
    pub fn level_name(&self, id: &LevelId) -> String {
        let level = self.plan.levels.iter().find(|level| level.id == *id);
        level.map_or_else(|| id.to_string(), |level| level.name.clone())
    }
}

fn ids<T>(list: &[T], id: impl Fn(&T) -> &str) -> impl Iterator<Item = &str> {
    list.iter().map(id)
}

/// A stop must be told from the one below: the level's name in it is changed, or set behind it.
fn renamed(name: &str, old: &str, new: &str) -> String {
    match name.contains(old) && !old.is_empty() {
        true => name.replace(old, new),
        false => format!("{name}, {new}"),
    }
}
