//! OpenStreetMap Simple Indoor Tagging (the OpenStreetMap wiki's page of that name): `indoor`, `level`, `door`, stairs.

mod level_number;
mod sides;
mod tags;

use super::border::{self, Side};
use super::drawn::{Drawn, Form};
use super::earth::Earth;
use super::{EXTENT_MAX_M, ImportError, Imported, Report, Wishes, levels_into_zones};
use crate::equipment::{Equipment, EquipmentKind, Mark, MarkKind};
use crate::fabric::{Foot, Link, LinkKind, Opening, Room, Wall};
use crate::id::{EquipmentId, LevelId, LinkId, MarkId, OpeningId, RoomId, WallId};
use crate::place::Level;
use crate::plan::{Plan, unused};
use crate::shape::{Point, Shape};
use level_number::{LevelNumber, level_id, level_name, level_numbers};
use std::collections::{BTreeMap, BTreeSet};
use tags::{equipment_kind, is_floor, kind_word, leaf, mark_kind, name, room_kind};

/// Makes a plan out of tagged features.
pub fn plan(drawn: Vec<Drawn>, wishes: &Wishes) -> Result<Imported, ImportError> {
    let indoors = |d: &&Drawn| d.tags.contains_key("indoor") || d.tags.contains_key("door");
    let earth = Earth::around(drawn.iter().filter(indoors).flat_map(Drawn::places))
        .ok_or_else(|| ImportError::NoFloor("no feature has the tag indoor=*".to_owned()))?;
    let mut plan = Plan::new(&wishes.name);
    plan.anchor = Some(earth.anchor());
    let mut reading =
        Reading { plan, report: Report::default(), taken: BTreeMap::new(), earth, wishes };
    reading.levels(&drawn)?;
    for d in &drawn {
        reading.floor(d);
    }
    reading.guard_extent()?;
    for d in &drawn {
        reading.fitting(d);
    }
    reading.gaps_between_corridors();
    reading.walls_towards_areas();
    levels_into_zones(&mut reading.plan, &mut reading.report, &mut reading.taken, wishes);
    Ok(Imported { plan: reading.plan, report: reading.report })
}

struct Reading<'a> {
    plan: Plan,
    report: Report,
    taken: BTreeMap<String, u32>,
    earth: Earth,
    wishes: &'a Wishes,
}

impl Reading<'_> {
    /// A level holds a room or corridor of its own; what spans several makes none.
    fn levels(&mut self, drawn: &[Drawn]) -> Result<(), ImportError> {
        let mut own: BTreeSet<LevelNumber> = BTreeSet::new();
        let mut any = BTreeSet::new();
        for d in drawn.iter().filter(|d| is_floor(d)) {
            let numbers = level_numbers(d);
            any.extend(numbers.iter().copied());
            if numbers.len() == 1 {
                own.extend(numbers);
            }
        }
        if own.is_empty() {
            own = any.clone();
        }
        if own.is_empty() && drawn.iter().any(is_floor) {
            own.insert(0);
            self.report.guessed("no feature has a level: all of it is level 0", "level");
        }
        if own.is_empty() {
            return Err(ImportError::NoFloor(
                "no area has the tag indoor=room, corridor or area".to_owned(),
            ));
        }
        for number in any.difference(&own) {
            self.report
                .dropped("a level with nothing of its own is a landing", &level_name(*number));
        }
        for &number in &own {
            self.plan.levels.push(Level {
                id: level_id(number),
                name: level_name(number),
                elevation_mm: number * self.wishes.storey_mm / 100,
            });
            self.report.guessed(
                &format!("elevation: {} mm a storey", self.wishes.storey_mm),
                &format!("level {}", level_name(number)),
            );
        }
        Ok(())
    }

    /// The plan's levels a feature lies on; a feature without any lies on the lowest at or above the ground.
    fn levels_of(&mut self, d: &Drawn) -> Vec<LevelId> {
        let numbers = level_numbers(d);
        if numbers.is_empty() {
            let ground = (self.plan.levels.iter())
                .find(|level| level.elevation_mm >= 0)
                .or(self.plan.levels.last());
            let Some(ground) = ground.map(|level| level.id.clone()) else { return Vec::new() };
            self.report.guessed(&format!("no level is given: {ground}"), &d.id);
            return vec![ground];
        }
        let ids: Vec<LevelId> = numbers.into_iter().map(level_id).collect();
        ids.into_iter().filter(|id| self.plan.levels.iter().any(|level| level.id == *id)).collect()
    }

    fn floor(&mut self, d: &Drawn) {
        if !is_floor(d) {
            return;
        }
        let Form::Area(rings) = &d.form else {
            self.report.dropped("a room that is no area", &d.id);
            return;
        };
        let shape = Shape {
            rings: rings.iter().map(|ring| self.ring(ring)).filter(|r| r.len() >= 3).collect(),
        };
        if shape.double_area_mm2() <= 0 {
            self.report.dropped("a room without an area", &d.id);
            return;
        }
        let (kind, link) = room_kind(d);
        let name = name(d);
        let mut feet = Vec::new();
        for level in self.levels_of(d) {
            let id = RoomId::from_name(&unused(&mut self.taken, &format!("{level} {name}")));
            self.report.understood(
                &format!("{} as {}", d.tag("indoor").unwrap_or("area"), kind_word(kind)),
                id.as_str(),
            );
            if let Some(at) = border::inside(&shape) {
                feet.push(Foot { level: level.clone(), at });
            }
            self.plan.rooms.push(Room {
                id,
                name: name.clone(),
                level,
                kind,
                zone: None,
                shape: shape.clone(),
            });
        }
        if let Some(kind) = link {
            self.link(kind, &name, feet, d);
        }
    }

    fn link(&mut self, kind: LinkKind, name: &str, feet: Vec<Foot>, d: &Drawn) {
        if feet.len() < 2 {
            self.report.dropped("a stair or lift that meets one level only joins nothing", &d.id);
            return;
        }
        let id = LinkId::from_name(&unused(&mut self.taken, &format!("link {name}")));
        self.report.understood(if kind == LinkKind::Lift { "lift" } else { "stair" }, id.as_str());
        self.plan.links.push(Link {
            id,
            name: name.to_owned(),
            kind,
            feet,
            rounds: false,
            smoke_free: false,
        });
    }

    fn guard_extent(&self) -> Result<(), ImportError> {
        let mut bounds: Option<(Point, Point)> = None;
        for (lo, hi) in self.plan.rooms.iter().filter_map(|room| room.shape.bounds()) {
            let (l, h) = bounds.unwrap_or((lo, hi));
            bounds = Some((
                Point::new(l.x.min(lo.x), l.y.min(lo.y)),
                Point::new(h.x.max(hi.x), h.y.max(hi.y)),
            ));
        }
        let across = bounds.map_or(0, |(lo, hi)| (hi.x - lo.x).max(hi.y - lo.y) / 1000);
        if across > EXTENT_MAX_M { Err(ImportError::Extent(across)) } else { Ok(()) }
    }

    /// Doors, walls, equipment and marks.
    fn fitting(&mut self, d: &Drawn) {
        if is_floor(d) {
            return;
        }
        if let Form::Point(at) = d.form {
            let at = self.earth.to_plan(at);
            if d.tags.contains_key("door") || d.tags.contains_key("entrance") {
                self.door(d, at);
            } else if let Some(kind) = equipment_kind(d) {
                self.equipment(d, at, kind);
            } else if let Some(kind) = mark_kind(d) {
                self.mark(d, at, kind);
            } else if d.tag("indoor") == Some("wall") {
                self.report.dropped("a pillar drawn as a point has no size", &d.id);
            }
        } else if d.tag("indoor") == Some("wall") {
            self.wall(d);
        } else if d.tag("indoor") == Some("pathway") {
            self.report.dropped("a path: walking is computed from the floor", &d.id);
        } else if let Some(kind) = d.tag("indoor") {
            self.report.dropped(&format!("indoor={kind} is no floor"), &d.id);
        }
    }

    fn wall(&mut self, d: &Drawn) {
        let line: Vec<Point> = match &d.form {
            Form::Line(line) => self.ring(line),
            Form::Area(rings) => {
                let mut ring = rings.first().map(|ring| self.ring(ring)).unwrap_or_default();
                ring.extend(ring.first().copied());
                ring
            }
            Form::Point(_) => return,
        };
        for level in self.levels_of(d) {
            let id = WallId::from_name(&unused(&mut self.taken, &format!("{level} wall")));
            self.report.understood("wall", id.as_str());
            self.plan.walls.push(Wall { id, level, line: line.clone() });
        }
    }

    fn door(&mut self, d: &Drawn, at: Point) {
        let width_mm = match d.tag("width").and_then(|width| width.trim().parse::<f64>().ok()) {
            Some(width_m) if width_m > 0.3 && width_m < 20.0 => libm::round(width_m * 1e3) as i64,
            _ => {
                self.report.guessed(&format!("a door is {} mm wide", self.wishes.door_mm), &d.id);
                self.wishes.door_mm
            }
        };
        for level in self.levels_of(d) {
            let sides = self.sides_on(&level);
            let Some(found) = border::place_door(at, width_mm, &sides) else {
                self.report.dropped("a door in no wall (none within 0.5 m)", &d.id);
                continue;
            };
            if found.off_mm > 20 {
                self.report.guessed(
                    "a door was moved into the nearest wall",
                    &format!("{} by {} mm", d.id, found.off_mm),
                );
            }
            let id = OpeningId::from_name(&unused(
                &mut self.taken,
                &format!("{level} door {}", name(d)),
            ));
            let exit = d.tag("entrance").is_some_and(|entrance| entrance != "no");
            self.report
                .understood(if exit { "door that is an entrance" } else { "door" }, id.as_str());
            let name = d.tag("name").or(d.tag("ref")).unwrap_or_default().to_owned();
            self.plan.openings.push(Opening {
                id,
                name,
                level,
                leaf: leaf(d),
                line: found.line,
                exit,
            });
        }
    }

    fn equipment(&mut self, d: &Drawn, at: Point, kind: EquipmentKind) {
        for level in self.levels_of(d) {
            let id =
                EquipmentId::from_name(&unused(&mut self.taken, &format!("{level} {}", name(d))));
            self.report.understood("equipment", id.as_str());
            let name = d.tag("name").unwrap_or_default().to_owned();
            self.plan.equipment.push(Equipment {
                id,
                name,
                kind,
                level,
                at,
                rating: String::new(),
            });
        }
    }

    fn mark(&mut self, d: &Drawn, at: Point, kind: MarkKind) {
        for level in self.levels_of(d) {
            let id = MarkId::from_name(&unused(&mut self.taken, &format!("{level} {}", name(d))));
            self.report.understood("mark", id.as_str());
            self.plan.marks.push(Mark { id, name: name(d), kind, level, at });
        }
    }

    fn sides_on(&self, level: &LevelId) -> Vec<Side> {
        let rooms = self
            .plan
            .rooms
            .iter()
            .enumerate()
            .filter(|(_, room)| room.level == *level && room.kind.walkable());
        border::sides(rooms.map(|(i, room)| (i, &room.shape)))
    }

    fn ring(&self, ring: &[[f64; 2]]) -> Vec<Point> {
        let mut points: Vec<Point> = ring.iter().map(|&place| self.earth.to_plan(place)).collect();
        points.dedup();
        points
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn feature(tags: &str, geometry: &str) -> String {
        format!(r#"{{"type":"Feature","properties":{tags},"geometry":{geometry}}}"#)
    }

    fn square(lon: f64, lat: f64) -> String {
        let (e, n) = (lon + 0.0001, lat + 0.0001);
        format!(
            r#"{{"type":"Polygon","coordinates":[[[{lon},{lat}],[{e},{lat}],[{e},{n}],[{lon},{n}],[{lon},{lat}]]]}}"#
        )
    }

    /// Two rooms with a door between them and a stair up, tagged as the wiki page prescribes.
    #[test]
    fn a_small_house() {
        let features = [
            feature(r#"{"indoor":"room","level":"0","ref":"A"}"#, &square(10.0, 50.0)),
            feature(r#"{"indoor":"corridor","level":"0","ref":"B"}"#, &square(10.0001, 50.0)),
            feature(r#"{"indoor":"room","level":"1","ref":"C"}"#, &square(10.0, 50.0)),
            feature(
                r#"{"indoor":"room","level":"0-1","room":"stairs","ref":"S"}"#,
                &square(10.0002, 50.0),
            ),
            feature(
                r#"{"door":"hinged","level":"0","width":"1"}"#,
                r#"{"type":"Point","coordinates":[10.0001,50.00005]}"#,
            ),
            feature(
                r#"{"door":"hinged","level":"0"}"#,
                r#"{"type":"Point","coordinates":[10.01,50.01]}"#,
            ),
            feature(
                r#"{"emergency":"fire_extinguisher","level":"0"}"#,
                r#"{"type":"Point","coordinates":[10.00005,50.00005]}"#,
            ),
        ];
        let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
        let Imported { plan, report } =
            super::super::indoor_tagging_geojson(&text, &Wishes::default()).expect("a plan");
        assert_eq!(plan.check(), vec![]);
        assert_eq!(plan.levels.len(), 2);
        assert_eq!(plan.rooms.len(), 5, "the stair stands on both levels");
        assert_eq!(plan.links[0].feet.len(), 2);
        assert_eq!(plan.openings.len(), 1);
        assert_eq!(plan.openings[0].line[0].distance_mm(plan.openings[0].line[1]), 1000);
        assert_eq!(plan.equipment[0].kind, EquipmentKind::Extinguisher);
        assert_eq!(report.dropped["a door in no wall (none within 0.5 m)"].count, 1);
    }

    #[test]
    fn no_floor_is_said() {
        let text = r#"{"type":"FeatureCollection","features":[]}"#;
        let error =
            super::super::indoor_tagging_geojson(text, &Wishes::default()).expect_err("no floor");
        assert!(error.to_string().contains("indoor=*"), "{error}");
        let far = feature(
            r#"{"indoor":"room","level":"0"}"#,
            r#"{"type":"Polygon","coordinates":[[[4455380,5444904],[1,1],[2,2],[4455380,5444904]]]}"#,
        );
        let error = super::super::indoor_tagging_geojson(&far, &Wishes::default())
            .expect_err("metres are no degrees");
        assert!(error.to_string().contains("WGS 84"), "{error}");
    }
}
