//! Indoor Mapping Data Format 1.0.0 (OGC community standard 20-094): an archive of GeoJSON files, one for each feature
//! type. Read are levels, units, openings and the relationships of stairs, ramps and lifts.

use super::border::{self, Side};
use super::drawn::{Drawn, Form, from_geojson};
use super::earth::Earth;
use super::{EXTENT_MAX_M, ImportError, Imported, Report, Wishes, levels_into_zones};
use crate::fabric::{Foot, Leaf, Link, LinkKind, Opening, Room, RoomKind};
use crate::id::{LevelId, LinkId, OpeningId, RoomId};
use crate::place::Level;
use crate::plan::{Plan, unused};
use crate::shape::{Point, Shape};
use serde_json::Value;
use std::collections::BTreeMap;

/// Whether files are those of an IMDF archive: its manifest, or units beside levels.
pub(super) fn is_archive(files: &[(&str, &[u8])]) -> bool {
    let has = |name: &str| files.iter().any(|(file, _)| stem(file) == name);
    has("unit") && has("level")
}

fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.split('.').next().unwrap_or(name)
}

/// Makes a plan out of an archive's files, given as (name, text).
pub(super) fn plan(files: &[(&str, &str)], wishes: &Wishes) -> Result<Imported, ImportError> {
    let mut drawn: BTreeMap<String, Vec<Drawn>> = BTreeMap::new();
    let mut relations = Vec::new();
    for (name, text) in files.iter().filter(|(name, _)| stem(name) != "manifest") {
        for d in from_geojson(text).map_err(|error| named(name, error))? {
            let kind = d.tag("feature_type").unwrap_or_else(|| stem(name)).to_owned();
            drawn.entry(kind).or_default().push(d);
        }
        if stem(name) == "relationship" {
            relations.extend(relationships(text));
        }
    }
    let all = |kind: &str| drawn.get(kind).map(Vec::as_slice).unwrap_or_default();
    let earth = Earth::around(all("unit").iter().flat_map(Drawn::places)).ok_or_else(|| {
        ImportError::NoFloor("the archive holds no unit: give its unit.geojson too".to_owned())
    })?;
    let mut plan = Plan::new(&wishes.name);
    plan.anchor = Some(earth.anchor());
    let mut reading = Reading {
        plan,
        report: Report::default(),
        taken: BTreeMap::new(),
        levels: BTreeMap::new(),
        rooms: BTreeMap::new(),
        earth,
    };
    reading.levels(all("level"), all("unit"), wishes)?;
    all("unit").iter().for_each(|d| reading.unit(d));
    reading.guard_extent()?;
    reading.openings(all("opening"));
    reading.links(&relations);
    for (kind, list) in &drawn {
        if !matches!(kind.as_str(), "level" | "unit" | "opening" | "relationship") {
            list.iter().for_each(|d| reading.report.dropped(&format!("{kind} is not read"), &d.id));
        }
    }
    levels_into_zones(&mut reading.plan, &mut reading.report, &mut reading.taken, wishes);
    Ok(Imported { plan: reading.plan, report: reading.report })
}

fn named(file: &str, error: ImportError) -> ImportError {
    match error {
        ImportError::Malformed { why, .. } => {
            ImportError::Malformed { format: "IMDF archive", why: format!("{file}: {why}") }
        }
        other => other,
    }
}

/// Category and the two units of each relationship that joins units.
fn relationships(text: &str) -> Vec<(String, String, String)> {
    let value: Value = serde_json::from_str(text).unwrap_or_default();
    let features = value.get("features").and_then(Value::as_array);
    let one = |feature: &Value| {
        let properties = feature.get("properties")?;
        let end = |key: &str| Some(properties.get(key)?.get("id")?.as_str()?.to_owned());
        let category = properties.get("category")?.as_str()?.to_owned();
        Some((category, end("origin")?, end("destination")?))
    };
    features.into_iter().flatten().filter_map(one).collect()
}

struct Reading {
    plan: Plan,
    report: Report,
    taken: BTreeMap<String, u32>,
    levels: BTreeMap<String, LevelId>,
    /// Room of each unit, by index.
    rooms: BTreeMap<String, usize>,
    earth: Earth,
}

impl Reading {
    /// Levels that hold a unit, by their ordinal.
    fn levels(
        &mut self,
        levels: &[Drawn],
        units: &[Drawn],
        wishes: &Wishes,
    ) -> Result<(), ImportError> {
        let mut sorted: Vec<(i64, &Drawn)> = Vec::new();
        for d in levels {
            let ordinal = d.tag("ordinal").and_then(|text| text.parse::<f64>().ok());
            let Some(ordinal) = ordinal.filter(|n| n.abs() < 1e4) else {
                self.report.dropped("a level without an ordinal", &d.id);
                continue;
            };
            if !units.iter().any(|unit| unit.tag("level_id") == Some(&d.id)) {
                self.report.dropped("a level without a unit", &d.id);
                continue;
            }
            sorted.push((libm::round(ordinal) as i64, d));
        }
        sorted.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.id.cmp(&b.1.id)));
        for (ordinal, d) in sorted {
            let name = d.tag("name").map_or_else(|| format!("Level {ordinal}"), str::to_owned);
            let id = LevelId::from_name(&unused(&mut self.taken, &name));
            let elevation_mm = ordinal * wishes.storey_mm;
            let what = format!("elevation: {} mm a storey", wishes.storey_mm);
            self.report.guessed(&what, id.as_str());
            self.levels.insert(d.id.clone(), id.clone());
            self.plan.levels.push(Level { id, name, elevation_mm });
        }
        if self.plan.levels.is_empty() {
            let why = "no level with an ordinal holds a unit: give the archive's level.geojson too";
            return Err(ImportError::NoFloor(why.to_owned()));
        }
        Ok(())
    }

    fn unit(&mut self, d: &Drawn) {
        let category = d.tag("category").unwrap_or("unspecified");
        let Some(level) = d.tag("level_id").and_then(|id| self.levels.get(id)).cloned() else {
            self.report.dropped("a unit on no known level", &d.id);
            return;
        };
        let Form::Area(rings) = &d.form else {
            self.report.dropped("a unit that is no area", &d.id);
            return;
        };
        let Some(kind) = kind(category) else {
            self.report.dropped(&format!("{category} is no floor to walk on"), &d.id);
            return;
        };
        let ring = |ring: &Vec<[f64; 2]>| -> Vec<Point> {
            let mut points: Vec<Point> = ring.iter().map(|&p| self.earth.to_plan(p)).collect();
            points.dedup();
            points
        };
        let shape = Shape { rings: rings.iter().map(ring).collect() };
        if shape.double_area_mm2() <= 0 {
            self.report.dropped("a unit without area", &d.id);
            return;
        }
        let name = d.tag("name").unwrap_or(category).to_owned();
        let id = RoomId::from_name(&unused(&mut self.taken, &format!("{level} {name}")));
        self.report.understood(&format!("{category} as {}", spoken(kind)), id.as_str());
        self.rooms.insert(d.id.clone(), self.plan.rooms.len());
        self.plan.rooms.push(Room { id, name, level, kind, zone: None, shape });
    }

    fn guard_extent(&self) -> Result<(), ImportError> {
        let far = self.plan.rooms.iter().filter_map(|room| room.shape.bounds());
        let far = far.map(|(lo, hi)| lo.x.abs().max(lo.y.abs()).max(hi.x.abs()).max(hi.y.abs()));
        let across_m = far.max().unwrap_or(0) / 500;
        if self.plan.rooms.is_empty() {
            return Err(ImportError::NoFloor("no unit is an area on a known level".to_owned()));
        }
        if across_m > EXTENT_MAX_M { Err(ImportError::Extent(across_m)) } else { Ok(()) }
    }

    fn openings(&mut self, drawn: &[Drawn]) {
        for d in drawn {
            let Some(level) = d.tag("level_id").and_then(|id| self.levels.get(id)).cloned() else {
                self.report.dropped("an opening on no known level", &d.id);
                continue;
            };
            let Form::Line(line) = &d.form else {
                self.report.dropped("an opening that is no line", &d.id);
                continue;
            };
            let (Some(&a), Some(&b)) = (line.first(), line.last()) else { continue };
            let line = [self.earth.to_plan(a), self.earth.to_plan(b)];
            let middle = Point::new((line[0].x + line[1].x) / 2, (line[0].y + line[1].y) / 2);
            let here = (self.plan.rooms.iter().enumerate()).filter(|(_, room)| room.level == level);
            let sides: Vec<Side> = border::sides(here.map(|(i, room)| (i, &room.shape)));
            let near = sides.iter().filter(|side| border::distance(**side, middle) < NEAR_MM);
            let mut joins: Vec<usize> = near.map(|side| side.of).collect();
            joins.sort_unstable();
            joins.dedup();
            if joins.is_empty() || line[0] == line[1] {
                self.report.dropped("an opening in no unit's border", &d.id);
                continue;
            }
            let category = d.tag("category").unwrap_or("pedestrian");
            let id = OpeningId::from_name(&unused(&mut self.taken, &format!("{level} opening")));
            let exit = joins.len() == 1;
            self.report
                .understood(if exit { "opening to the outside" } else { "opening" }, id.as_str());
            if exit && category != "pedestrian.principal" && category != "emergencyexit" {
                self.report.guessed("an opening of one unit only leads out", id.as_str());
            }
            let name = d.tag("name").unwrap_or_default().to_owned();
            self.plan.openings.push(Opening { id, name, level, leaf: leaf(d), line, exit });
        }
    }

    /// Stairs, ramps and lifts as the relationships say; without any, what lies over each other.
    fn links(&mut self, relations: &[(String, String, String)]) {
        let mut joined = 0;
        for (category, from, to) in relations {
            let Some(kind) = link_kind(category) else { continue };
            if let (Some(&a), Some(&b)) = (self.rooms.get(from), self.rooms.get(to)) {
                joined += usize::from(self.link(kind, a, b));
            }
        }
        if joined > 0 {
            return;
        }
        for pair in 0..self.plan.levels.len().saturating_sub(1) {
            let on = |level: usize| -> Vec<usize> {
                let id = &self.plan.levels[level].id;
                let climbs = |i: &usize| {
                    let room = &self.plan.rooms[*i];
                    room.level == *id && matches!(room.kind, RoomKind::Stair | RoomKind::Lift)
                };
                (0..self.plan.rooms.len()).filter(climbs).collect()
            };
            let (low, high) = (on(pair), on(pair + 1));
            for (&below, &above) in low.iter().flat_map(|a| high.iter().map(move |b| (a, b))) {
                let (a, b) = (&self.plan.rooms[below], &self.plan.rooms[above]);
                let over = border::inside(&a.shape).is_some_and(|at| b.shape.contains(at));
                let lift = a.kind == RoomKind::Lift;
                let kind = if lift { LinkKind::Lift } else { LinkKind::Stair };
                if a.kind == b.kind && over && self.link(kind, below, above) {
                    let what = "stairs and lifts that lie over each other are joined";
                    let id = self.plan.links.last().map(|link| link.id.to_string());
                    self.report.guessed(what, &id.unwrap_or_default());
                }
            }
        }
    }

    fn link(&mut self, kind: LinkKind, a: usize, b: usize) -> bool {
        let height = |room: usize| {
            let level = self.plan.levels.iter().find(|l| l.id == self.plan.rooms[room].level);
            level.map_or(0, |level| level.elevation_mm)
        };
        let (a, b) = if height(a) <= height(b) { (a, b) } else { (b, a) };
        if self.plan.rooms[a].level == self.plan.rooms[b].level {
            return false;
        }
        let foot = |room: usize| {
            let room = &self.plan.rooms[room];
            Some(Foot { level: room.level.clone(), at: border::inside(&room.shape)? })
        };
        let (Some(low), Some(high)) = (foot(a), foot(b)) else { return false };
        let name = self.plan.rooms[a].name.clone();
        let id = LinkId::from_name(&unused(&mut self.taken, &format!("{name} {}", low.level)));
        let feet = vec![low, high];
        self.report.understood("a way between levels", id.as_str());
        self.plan.links.push(Link { id, name, kind, feet, rounds: false, smoke_free: false });
        true
    }
}

/// A unit's border this near to an opening is the one it lies in, in millimetres.
const NEAR_MM: f64 = 150.0;

/// What a unit of a category is; none for what is no floor.
fn kind(category: &str) -> Option<RoomKind> {
    let base = category.split('.').next().unwrap_or(category);
    Some(match base {
        "walkway" | "lobby" | "footbridge" | "platform" | "movingwalkway" => RoomKind::Corridor,
        "stairs" | "steps" | "escalator" | "ramp" => RoomKind::Stair,
        "elevator" => RoomKind::Lift,
        "unenclosedarea" | "terrace" => RoomKind::Area,
        "opentobelow" => RoomKind::Shaft,
        "column" | "brick" | "concrete" | "drywall" | "glass" | "wood" | "structure"
        | "vegetation" | "road" => return None,
        _ => RoomKind::Room,
    })
}

fn spoken(kind: RoomKind) -> &'static str {
    match kind {
        RoomKind::Room => "room",
        RoomKind::Corridor => "corridor",
        RoomKind::Area => "open area",
        RoomKind::Doorway => "doorway",
        RoomKind::Stair => "stair",
        RoomKind::Lift => "lift",
        RoomKind::Shaft => "shaft",
    }
}

fn link_kind(category: &str) -> Option<LinkKind> {
    match category {
        "stairs" | "escalator" => Some(LinkKind::Stair),
        "ramp" => Some(LinkKind::Ramp),
        "elevator" => Some(LinkKind::Lift),
        _ => None,
    }
}

fn leaf(d: &Drawn) -> Leaf {
    let control = d.tag("access_control").unwrap_or_default();
    match d.tag("door.type") {
        _ if control.contains("keyaccess") => Leaf::Locked,
        Some("open") => Leaf::Gap,
        Some(_) => Leaf::Door,
        // The standard gives a door only where there is one.
        None => Leaf::Gap,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::import::read_all;

    fn polygon([w, s, e, n]: [f64; 4]) -> String {
        let (lon, lat) = (|m: f64| 10.0 + m / 71_696.0, |m: f64| 50.0 + m / 111_229.0);
        let (w, s, e, n) = (lon(w), lat(s), lon(e), lat(n));
        format!(
            r#"{{"type":"Polygon","coordinates":[[[{w},{s}],[{e},{s}],[{e},{n}],[{w},{n}],[{w},{s}]]]}}"#
        )
    }

    fn line([w, s, e, n]: [f64; 4]) -> String {
        let (lon, lat) = (|m: f64| 10.0 + m / 71_696.0, |m: f64| 50.0 + m / 111_229.0);
        format!(
            r#"{{"type":"LineString","coordinates":[[{},{}],[{},{}]]}}"#,
            lon(w),
            lat(s),
            lon(e),
            lat(n)
        )
    }

    fn file(kind: &str, features: &[(&str, String, &str)]) -> String {
        let feature = |(id, geometry, properties): &(&str, String, &str)| {
            format!(
                r#"{{"id":"{id}","type":"Feature","feature_type":"{kind}","geometry":{geometry},"properties":{{{properties}}}}}"#
            )
        };
        let list: Vec<String> = features.iter().map(feature).collect();
        format!(r#"{{"type":"FeatureCollection","name":"{kind}","features":[{}]}}"#, list.join(","))
    }

    /// Two levels of 10 m × 4 m: a hall, a room behind a door, a stair that lies over the one above.
    fn archive() -> Vec<(&'static str, String)> {
        let level = |n: i32| {
            format!(r#""category":"unspecified","ordinal":{n},"name":{{"en":"Floor {n}"}}"#)
        };
        let (l0, l1) = (level(0), level(1));
        let area = polygon([0.0, 0.0, 10.0, 4.0]);
        let unit = |category: &str, name: &str, level: &str| {
            format!(r#""category":"{category}","name":{{"en":"{name}"}},"level_id":"{level}""#)
        };
        let (hall, room) = (unit("walkway", "Hall", "l0"), unit("office", "Agent", "l0"));
        let (stair, above) = (unit("stairs", "Stair", "l0"), unit("stairs", "Stair", "l1"));
        let loft = unit("storage", "Loft", "l1");
        let door = r#""category":"pedestrian","level_id":"l0","door":{"type":"swinging","automatic":false,"material":"wood"}"#;
        let out = r#""category":"pedestrian.principal","level_id":"l0","door":null,"access_control":["keyaccess"]"#;
        let up = r#""category":"pedestrian","level_id":"l1","door":null"#;
        vec![
            ("manifest.json", r#"{"version":"1.0.0","language":"en"}"#.to_owned()),
            ("level.geojson", file("level", &[("l0", area.clone(), &l0), ("l1", area, &l1)])),
            (
                "unit.geojson",
                file(
                    "unit",
                    &[
                        ("u1", polygon([0.0, 0.0, 4.0, 4.0]), &hall),
                        ("u2", polygon([4.0, 0.0, 8.0, 4.0]), &room),
                        ("u3", polygon([8.0, 0.0, 10.0, 4.0]), &stair),
                        ("u4", polygon([8.0, 0.0, 10.0, 4.0]), &above),
                        ("u5", polygon([0.0, 0.0, 8.0, 4.0]), &loft),
                    ],
                ),
            ),
            (
                "opening.geojson",
                file(
                    "opening",
                    &[
                        ("o1", line([4.0, 1.0, 4.0, 2.0]), door),
                        ("o2", line([0.0, 1.0, 0.0, 2.0]), out),
                        ("o3", line([8.0, 1.0, 8.0, 2.0]), door),
                        ("o4", line([8.0, 1.0, 8.0, 2.0]), up),
                    ],
                ),
            ),
        ]
    }

    fn read(files: &[(&'static str, String)]) -> Result<Imported, ImportError> {
        let bytes: Vec<(&str, &[u8])> =
            files.iter().map(|(name, text)| (*name, text.as_bytes())).collect();
        read_all(&bytes, None, None, &Wishes::default())
    }

    /// The property names are those of OGC 20-094; the building is ours.
    #[test]
    fn levels_units_openings_and_the_stair_between() {
        let Imported { plan, report } = read(&archive()).expect("a plan");
        assert_eq!(plan.check(), vec![]);
        let names: Vec<&str> = plan.levels.iter().map(|level| level.name.as_str()).collect();
        assert_eq!((names, plan.rooms.len(), plan.links.len()), (vec!["Floor 0", "Floor 1"], 5, 1));
        let leaves: Vec<(Leaf, bool)> = plan.openings.iter().map(|o| (o.leaf, o.exit)).collect();
        assert_eq!(
            leaves,
            [(Leaf::Door, false), (Leaf::Locked, true), (Leaf::Door, false), (Leaf::Gap, false)]
        );
        let floor: f64 = plan.rooms.iter().map(|room| room.shape.area_m2()).sum();
        assert!((floor - 80.0).abs() < 0.1, "{floor}");
        assert_eq!(report.guessed["stairs and lifts that lie over each other are joined"].count, 1);
    }

    #[test]
    fn an_archive_without_levels_says_so() {
        let units = archive().into_iter().filter(|(name, _)| *name == "unit.geojson");
        let error = read(&units.collect::<Vec<_>>()).expect_err("no levels").to_string();
        assert!(error.contains("level.geojson"), "{error}");
    }
}
