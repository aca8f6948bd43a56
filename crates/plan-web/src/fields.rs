//! Fields: what can be changed about a part, a zone or a level by typing.

use crate::drawing::Part;
use crate::model::{Model, Said};
use crate::underlay::{Measured, Underlay};
use floorplan::fabric::Foot;
use floorplan::{
    EquipmentId, EquipmentKind, Leaf, LevelId, LinkId, LinkKind, MarkId, MarkKind, OpeningId,
    RoomId, RoomKind, StopId, ZoneId, ZoneKind,
};
use words::drawing as said;

/// The shortest and longest gap that can be typed, in minutes.
pub const GAP_MIN: (u32, u32) = (1, 1440);
/// The narrowest and widest door, in millimetres.
pub const DOOR_WIDTH_MM: (i64, i64) = (300, 12_000);

/// A field that was changed.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// What people call it.
    Name(Part, String),
    /// What a room is.
    RoomKind(RoomId, RoomKind),
    /// The zone of a room or stop.
    Zone(Part, ZoneId),
    /// What closes an opening.
    Leaf(OpeningId, Leaf),
    /// It leads out of the building.
    Exit(OpeningId, bool),
    /// A one-way door is passed the other way.
    Turn(OpeningId),
    /// How wide an opening is, in millimetres.
    Width(OpeningId, i64),
    /// What a link is.
    LinkKind(LinkId, LinkKind),
    /// Whether a link meets a level.
    Meets(LinkId, LevelId, bool),
    /// Whether a lift may be used on rounds.
    Rounds(LinkId, bool),
    /// Whether a stair is kept free of smoke.
    SmokeFree(LinkId, bool),
    /// How long looking takes at a stop, in seconds; the usual time when none.
    Inspect(StopId, Option<u32>),
    /// What a thing is.
    ThingKind(EquipmentId, EquipmentKind),
    /// The rating on an extinguisher.
    Rating(EquipmentId, String),
    /// What a mark shows.
    MarkKind(MarkId, MarkKind),
    /// Where new rooms belong.
    ZoneForNew(ZoneId),
    /// What people call a zone.
    ZoneName(ZoneId, String),
    /// The longest gap of a zone, in minutes.
    ZoneGap(ZoneId, u32),
    /// What a zone is used for.
    ZoneKind(ZoneId, ZoneKind),
    /// One zone more, on the level that is shown.
    AddZone,
    /// A zone fewer; its rooms and stops go to the first that is left.
    RemoveZone(ZoneId),
    /// What people call a level.
    LevelName(LevelId, String),
    /// Height of a level's floor over zero, in millimetres.
    Height(LevelId, i64),
    /// An empty level above the highest.
    LevelAbove,
    /// An empty level below the lowest.
    LevelBelow,
    /// The level that is shown, once more above the highest.
    CopyUp,
    /// The level that is shown is taken away.
    RemoveLevel,
    /// A picture for the level that is shown, by its key and size in pixels.
    Picture(String, [u32; 2]),
    /// No picture any more.
    NoPicture,
    /// The picture is turned, counter-clockwise, in thousandths of a degree.
    TurnPicture(i64),
    /// How much of the picture shows, in percent.
    Shows(u8),
    /// The two points measured lie this far apart, in millimetres; the line between them is laid straight.
    Measured(i64, bool),
    /// A stop in every room of the level that has none.
    StopEach,
}

impl Model {
    pub(crate) fn edit(&mut self, edit: Edit) {
        match edit {
            Edit::Name(part, name) => self.name(&part, name.trim()),
            Edit::Zone(part, zone) => self.set_zone(&part, &zone),
            Edit::RoomKind(..)
            | Edit::Leaf(..)
            | Edit::Exit(..)
            | Edit::Turn(_)
            | Edit::Width(..) => {
                self.fabric(edit);
            }
            Edit::LinkKind(..) | Edit::Meets(..) | Edit::Rounds(..) | Edit::SmokeFree(..) => {
                self.edit_link(edit);
            }
            Edit::Inspect(..) | Edit::ThingKind(..) | Edit::Rating(..) | Edit::MarkKind(..) => {
                self.standing(edit);
            }
            Edit::ZoneForNew(zone) => self.zone = Some(zone),
            Edit::ZoneName(..) | Edit::ZoneGap(..) | Edit::ZoneKind(..) => self.zone_field(edit),
            Edit::AddZone => self.add_zone(),
            Edit::RemoveZone(zone) => self.remove_zone(&zone),
            Edit::StopEach => {
                let count = self.stop_each();
                self.said = Some(Said::Stops(count));
            }
            Edit::Picture(..) | Edit::NoPicture | Edit::TurnPicture(_) | Edit::Shows(_) => {
                self.picture(edit);
            }
            Edit::Measured(length_mm, straight) => self.measured(length_mm, straight),
            level => self.level_field(level),
        }
    }

    fn name(&mut self, part: &Part, name: &str) {
        if name.is_empty() && !matches!(part, Part::Door(_) | Part::Thing(_)) {
            return;
        }
        self.change(|drawing| {
            let plan = &mut drawing.plan;
            let field = match part {
                Part::Room(id) | Part::Corner(id, _) => {
                    plan.rooms.iter_mut().find(|it| it.id == *id).map(|it| &mut it.name)
                }
                Part::Door(id) => {
                    plan.openings.iter_mut().find(|it| it.id == *id).map(|it| &mut it.name)
                }
                Part::Foot(id, _) => {
                    plan.links.iter_mut().find(|it| it.id == *id).map(|it| &mut it.name)
                }
                Part::Stop(id) => {
                    plan.stops.iter_mut().find(|it| it.id == *id).map(|it| &mut it.name)
                }
                Part::Thing(id) => {
                    plan.equipment.iter_mut().find(|it| it.id == *id).map(|it| &mut it.name)
                }
                Part::Mark(id) => {
                    plan.marks.iter_mut().find(|it| it.id == *id).map(|it| &mut it.name)
                }
            };
            field.into_iter().for_each(|field| name.clone_into(field));
        });
    }

    fn fabric(&mut self, edit: Edit) {
        self.change(|drawing| {
            let plan = &mut drawing.plan;
            match edit {
                Edit::RoomKind(id, kind) => {
                    let room = plan.rooms.iter_mut().find(|it| it.id == id);
                    room.into_iter().for_each(|it| it.kind = kind);
                }
                Edit::Leaf(id, leaf) => {
                    let door = plan.openings.iter_mut().find(|it| it.id == id);
                    door.into_iter().for_each(|it| it.leaf = leaf);
                }
                Edit::Exit(id, exit) => {
                    let door = plan.openings.iter_mut().find(|it| it.id == id);
                    door.into_iter().for_each(|it| it.exit = exit);
                }
                Edit::Turn(id) => {
                    let door = plan.openings.iter_mut().find(|it| it.id == id);
                    door.into_iter().for_each(|it| it.line.reverse());
                }
                Edit::Width(id, width_mm) => {
                    let width_mm = width_mm.clamp(DOOR_WIDTH_MM.0, DOOR_WIDTH_MM.1);
                    let door = plan.openings.iter_mut().find(|it| it.id == id);
                    door.into_iter().for_each(|it| it.line = widened(it.line, width_mm));
                }
                _ => {}
            }
        });
    }

    fn edit_link(&mut self, edit: Edit) {
        self.change(|drawing| {
            let heights: Vec<LevelId> =
                drawing.plan.levels.iter().map(|level| level.id.clone()).collect();
            let links = &mut drawing.plan.links;
            match edit {
                Edit::LinkKind(id, kind) => {
                    let link = links.iter_mut().find(|it| it.id == id);
                    link.into_iter().for_each(|it| it.kind = kind);
                }
                Edit::Rounds(id, rounds) => {
                    let link = links.iter_mut().find(|it| it.id == id);
                    link.into_iter().for_each(|it| it.rounds = rounds);
                }
                Edit::SmokeFree(id, free) => {
                    let link = links.iter_mut().find(|it| it.id == id);
                    link.into_iter().for_each(|it| it.smoke_free = free);
                }
                Edit::Meets(id, level, meets) => {
                    let Some(link) = links.iter_mut().find(|it| it.id == id) else { return };
                    let Some(at) = link.feet.first().map(|foot| foot.at) else { return };
                    if !meets && link.feet.len() > 1 {
                        link.feet.retain(|foot| foot.level != level);
                    } else if meets && !link.feet.iter().any(|foot| foot.level == level) {
                        link.feet.push(Foot { level, at });
                    }
                    let height = |level: &LevelId| heights.iter().position(|id| id == level);
                    link.feet.sort_by_key(|foot| height(&foot.level));
                }
                _ => {}
            }
        });
    }

    fn standing(&mut self, edit: Edit) {
        self.change(|drawing| {
            let plan = &mut drawing.plan;
            match edit {
                Edit::Inspect(id, inspect_s) => {
                    let stop = plan.stops.iter_mut().find(|it| it.id == id);
                    let inspect_s = inspect_s.map(|s| s.clamp(1, 3600));
                    stop.into_iter().for_each(|it| it.inspect_s = inspect_s);
                }
                Edit::ThingKind(id, kind) => {
                    let thing = plan.equipment.iter_mut().find(|it| it.id == id);
                    thing.into_iter().for_each(|it| it.kind = kind);
                }
                Edit::Rating(id, rating) => {
                    let thing = plan.equipment.iter_mut().find(|it| it.id == id);
                    thing.into_iter().for_each(|it| rating.trim().clone_into(&mut it.rating));
                }
                Edit::MarkKind(id, kind) => {
                    let mark = plan.marks.iter_mut().find(|it| it.id == id);
                    mark.into_iter().for_each(|it| it.kind = kind);
                }
                _ => {}
            }
        });
    }

    fn level_field(&mut self, edit: Edit) {
        let (level, lang) = (self.level.clone(), self.lang);
        let next = said::name_level(lang, self.drawing.plan.levels.len() as i64);
        match edit {
            Edit::LevelName(id, name) if !name.trim().is_empty() => {
                self.change(|drawing| drawing.rename_level(&id, name.trim()));
            }
            Edit::Height(id, elevation_mm) => self.change(|drawing| {
                let levels = &mut drawing.plan.levels;
                let level = levels.iter_mut().find(|it| it.id == id);
                level.into_iter().for_each(|it| it.elevation_mm = elevation_mm);
                levels.sort_by_key(|it| it.elevation_mm);
            }),
            Edit::LevelAbove => self.shown(|drawing| drawing.level_above(&next)),
            Edit::LevelBelow => {
                let name = said::name_cellar(lang).to_owned();
                self.shown(|drawing| drawing.level_below(&name));
            }
            Edit::CopyUp => self.shown(|drawing| drawing.copy_up(&level, &next)),
            Edit::RemoveLevel if self.drawing.plan.levels.len() > 1 => {
                self.change(|drawing| drawing.remove_level(&level));
            }
            Edit::RemoveLevel => self.said = Some(Said::LastOne),
            _ => {}
        }
    }

    /// Shows the level that a change made.
    fn shown(&mut self, change: impl FnOnce(&mut crate::Drawing) -> LevelId) {
        self.level = self.change(change);
        self.chosen = None;
        self.zone = None;
        self.ring.clear();
        self.said = Some(Said::Level(self.drawing.level_name(&self.level)));
    }

    fn picture(&mut self, edit: Edit) {
        let level = self.level.clone();
        self.change(|drawing| match edit {
            Edit::Picture(key, size_px) => {
                let like = drawing.pictures.values().find(|under| under.measured);
                let under = match like.filter(|like| like.size_px == size_px) {
                    Some(like) => like.like(&key, size_px),
                    None => Underlay::guessed(&key, size_px),
                };
                drawing.pictures.insert(level, under);
            }
            Edit::NoPicture => {
                drawing.pictures.remove(&level);
            }
            Edit::TurnPicture(by_mdeg) => drawing.turn(&level, by_mdeg),
            Edit::Shows(percent) => {
                let under = drawing.pictures.get_mut(&level);
                under.into_iter().for_each(|under| under.shows_percent = percent.min(100));
            }
            _ => {}
        });
    }

    fn measured(&mut self, length_mm: i64, straight: bool) {
        let [a, b] = self.measure[..] else { return };
        let level = self.level.clone();
        let outcome = self.change(|drawing| drawing.measured(&level, [a, b], length_mm, straight));
        self.said = Some(match outcome {
            Measured::TooNear => Said::MeasureNear,
            Measured::Scaled(along) => Said::Scaled(along),
        });
        if outcome != Measured::TooNear {
            self.measure.clear();
        }
    }
}

impl crate::Drawing {
    /// The level's own zone keeps its name in step, and so do stops named after it.
    fn rename_level(&mut self, id: &LevelId, name: &str) {
        let Some(level) = self.plan.levels.iter_mut().find(|it| it.id == *id) else { return };
        let old = std::mem::replace(&mut level.name, name.to_owned());
        for zone in self.plan.zones.iter_mut().filter(|zone| zone.level.as_ref() == Some(id)) {
            if zone.name == old {
                name.clone_into(&mut zone.name);
            }
        }
        let ending = format!(", {old}");
        for stop in self.plan.stops.iter_mut().filter(|stop| stop.level.as_ref() == Some(id)) {
            if let Some(room) = stop.name.strip_suffix(&ending) {
                stop.name = format!("{room}, {name}");
            }
        }
    }
}

/// The same middle and direction, another width.
fn widened([a, b]: [floorplan::Point; 2], width_mm: i64) -> [floorplan::Point; 2] {
    let length = a.distance_mm(b).max(1) as f64;
    let (mx, my) = ((a.x + b.x) as f64 / 2.0, (a.y + b.y) as f64 / 2.0);
    let half = width_mm as f64 / 2.0 / length;
    let (dx, dy) = ((b.x - a.x) as f64 * half, (b.y - a.y) as f64 * half);
    [crate::snap::whole(mx - dx, my - dy), crate::snap::whole(mx + dx, my + dy)]
}
