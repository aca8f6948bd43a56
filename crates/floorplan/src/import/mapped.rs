//! GeoJSON plans of any making, by a small mapping file that says which values of a property are walls, doors, stairs …
//! Rooms that are not drawn are found as what walls leave free inside the outline.

mod laid;

use super::border;
use super::drawn::{Drawn, Form, from_geojson};
use super::earth::Earth;
use super::{EXTENT_MAX_M, ImportError, Imported, Report, Wishes, levels_into_zones};
use crate::fabric::{Foot, Leaf, Link, LinkKind, Opening, Room, RoomKind};
use crate::floor::{place, whole};
use crate::id::{LevelId, LinkId, OpeningId, RoomId};
use crate::place::Level;
use crate::plan::{Plan, unused};
use crate::shape::Point;
use geometry::arrangement::NONE;
use geometry::{Arrangement, Grid};
use laid::{Laid, length, next};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What the values of a property mean.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Mapping {
    /// The property that says what a feature is.
    kind: String,
    /// The property that holds its name.
    #[serde(default)]
    name: String,
    /// The building's outline: what walls leave free in it is floor.
    #[serde(default)]
    outline: Vec<String>,
    #[serde(default)]
    wall: Vec<String>,
    #[serde(default)]
    window: Vec<String>,
    #[serde(default)]
    door: Vec<String>,
    #[serde(default)]
    room: Vec<String>,
    #[serde(default)]
    corridor: Vec<String>,
    #[serde(default)]
    stair: Vec<String>,
    #[serde(default)]
    lift: Vec<String>,
    /// Closed off: nobody walks there.
    #[serde(default)]
    blocked: Vec<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Outline,
    Wall,
    Blocked,
    Door,
    Lift,
    Stair,
    Corridor,
    Room,
}

/// Smaller pieces of floor are gaps between drawn walls, in square metres.
const ROOM_MIN_M2: f64 = 0.4;
/// The same where no door leads in, in square metres (ours).
const SHUT_MIN_M2: f64 = 1.0;
/// Floor that lies open to the outdoors and is narrower than this is a ledge before the façade, in millimetres (ours).
const LEDGE_MM: f64 = 300.0;
/// Two rooms that touch along more than this without a wall are open to each other, in millimetres (ours).
const OPEN_MIN_MM: f64 = 600.0;
/// Stairs of two levels nearer than this are one, in millimetres.
const STAIR_MM: i64 = 4000;

/// Makes a plan out of files given as (level name, text), lowest first.
pub fn plan(
    files: &[(&str, &str)],
    mapping: &str,
    wishes: &Wishes,
) -> Result<Imported, ImportError> {
    let malformed = |why: String| ImportError::Malformed { format: "mapping file", why };
    let mapping: Mapping = toml::from_str(mapping).map_err(|error| malformed(error.to_string()))?;
    let drawn: Vec<Vec<Drawn>> =
        files.iter().map(|(_, text)| from_geojson(text)).collect::<Result<_, _>>()?;
    let earth = Earth::around(drawn.iter().flatten().flat_map(Drawn::places))
        .ok_or_else(|| ImportError::NoFloor("the files hold no feature".to_owned()))?;
    let mut plan = Plan::new(&wishes.name);
    plan.anchor = Some(earth.anchor());
    let mut reading = Reading { plan, report: Report::default(), taken: BTreeMap::new(), wishes };
    for (i, ((name, _), drawn)) in files.iter().zip(&drawn).enumerate() {
        let id = LevelId::from_name(&unused(&mut reading.taken, name));
        let elevation_mm = wishes.storey_mm * i as i64;
        reading.plan.levels.push(Level { id: id.clone(), name: (*name).to_owned(), elevation_mm });
        reading
            .report
            .guessed(&format!("elevation: {} mm a storey", wishes.storey_mm), id.as_str());
        reading.level(&id, drawn, &mapping, &earth)?;
    }
    if reading.plan.rooms.is_empty() {
        let why = format!("no feature's {:?} is a room, or an outline with walls", mapping.kind);
        return Err(ImportError::NoFloor(why));
    }
    reading.stairs();
    levels_into_zones(&mut reading.plan, &mut reading.report, &mut reading.taken, wishes);
    Ok(Imported { plan: reading.plan, report: reading.report })
}

impl Mapping {
    fn part(&self, drawn: &Drawn) -> Option<Part> {
        let value = drawn.tag(&self.kind)?;
        let lists = [
            (Part::Outline, &self.outline),
            (Part::Wall, &self.wall),
            (Part::Wall, &self.window),
            (Part::Blocked, &self.blocked),
            (Part::Door, &self.door),
            (Part::Lift, &self.lift),
            (Part::Stair, &self.stair),
            (Part::Corridor, &self.corridor),
            (Part::Room, &self.room),
        ];
        lists
            .into_iter()
            .find(|(_, values)| values.iter().any(|v| v == value))
            .map(|(part, _)| part)
    }
}

struct Reading<'a> {
    plan: Plan,
    report: Report,
    taken: BTreeMap<String, u32>,
    wishes: &'a Wishes,
}

impl Reading<'_> {
    fn level(
        &mut self,
        level: &LevelId,
        drawn: &[Drawn],
        mapping: &Mapping,
        earth: &Earth,
    ) -> Result<(), ImportError> {
        let (mut shapes, mut parts, mut names) = (Vec::new(), Vec::new(), Vec::new());
        for d in drawn {
            let Some(part) = mapping.part(d) else {
                let value = d.tag(&mapping.kind).unwrap_or("nothing");
                self.report
                    .dropped(&format!("{} = {value} is not in the mapping", mapping.kind), &d.id);
                continue;
            };
            let Form::Area(rings) = &d.form else {
                self.report.dropped("a feature that is no area", &d.id);
                continue;
            };
            let ring =
                |ring: &Vec<[f64; 2]>| ring.iter().map(|&p| place(earth.to_plan(p))).collect();
            shapes.push(geometry::Shape { rings: rings.iter().map(ring).collect() });
            self.report.understood(&format!("{part:?}").to_lowercase(), &d.id);
            parts.push(part);
            names.push(
                d.tag(&mapping.name)
                    .filter(|name| !name.trim().is_empty())
                    .unwrap_or_default()
                    .to_owned(),
            );
        }
        let arrangement = match Arrangement::new(&shapes, &[], Grid::whole(20.0)) {
            Ok(arrangement) => arrangement,
            Err(fault) => {
                self.report.dropped(&fault.to_string(), level.as_str());
                return Ok(());
            }
        };
        let extent =
            arrangement.points.iter().map(|p| p.x.abs().max(p.y.abs())).fold(0.0, f64::max) / 500.0;
        if extent > EXTENT_MAX_M as f64 {
            return Err(ImportError::Extent(extent as i64));
        }
        let outlined = parts.contains(&Part::Outline);
        let laid = Laid { arrangement, parts, names, outlined };
        self.rooms(level, &laid);
        Ok(())
    }

    fn rooms(&mut self, level: &LevelId, laid: &Laid) {
        for component in 0..laid.arrangement.inside.len() as u32 {
            let Some((part, shape)) = laid.floor(component) else { continue };
            let rings = laid.arrangement.outline(|c| c == component);
            let area = laid.shape(&rings);
            let least_m2 = match part {
                Part::Door => 0.01,
                Part::Outline if !laid.has_door(&rings) => SHUT_MIN_M2,
                _ => ROOM_MIN_M2,
            };
            if area.area_m2() < least_m2 {
                self.report.dropped("a sliver of floor between walls", level.as_str());
                continue;
            }
            if part == Part::Outline
                && laid.open_air(&rings)
                && 2e6 * area.area_m2() / length(laid, &rings) < LEDGE_MM
            {
                self.report.dropped("a ledge before the façade", level.as_str());
                continue;
            }
            let (kind, word) = match part {
                Part::Door => (RoomKind::Doorway, "Doorway"),
                Part::Stair => (RoomKind::Area, "Stair"),
                Part::Lift => (RoomKind::Lift, "Lift"),
                Part::Corridor => (RoomKind::Corridor, "Corridor"),
                _ => (RoomKind::Room, "Room"),
            };
            let kind = match kind {
                RoomKind::Room if laid.open_length(&rings) > OPEN_MIN_MM => {
                    let what = "rooms that touch without a wall are open to each other";
                    self.report.guessed(what, level.as_str());
                    RoomKind::Area
                }
                kind => kind,
            };
            if part == Part::Outline {
                self.report.guessed("a room is what walls leave free", level.as_str());
            }
            let given =
                shape.map(|s| laid.names[s as usize].as_str()).filter(|name| !name.is_empty());
            let id = RoomId::from_name(&unused(
                &mut self.taken,
                &format!("{level} {}", given.unwrap_or(word)),
            ));
            let name = given.unwrap_or(word).to_owned();
            if part == Part::Door {
                self.door(level, laid, &rings);
            }
            self.plan.rooms.push(Room {
                id,
                name,
                level: level.clone(),
                kind,
                zone: None,
                shape: area,
            });
        }
    }

    /// The door across a doorway: between the two stretches of its border that lie against walls.
    fn door(&mut self, level: &LevelId, laid: &Laid, rings: &[Vec<u32>]) {
        let arrangement = &laid.arrangement;
        let ground = self.plan.levels.first().is_some_and(|first| first.id == *level);
        let (mut jambs, mut exit) = (Vec::new(), false);
        for &h in rings.iter().flatten() {
            let twin = arrangement.twins[h as usize];
            let beyond = (twin != NONE).then(|| arrangement.component[twin as usize / 3]);
            if beyond.is_some_and(|c| laid.walled(c)) {
                jambs.push(arrangement.origin(h).toward(arrangement.origin(next(h)), 0.5));
            }
            // Also by floor that no wall divides from the outdoors, as under an arcade.
            let open = |c: u32| {
                let floor = laid.floor(c).is_some_and(|(part, _)| part == Part::Outline);
                floor && laid.open_air(&arrangement.outline(|other| other == c))
            };
            exit |= laid.outlined && beyond.is_none_or(|c| !laid.indoors(c) || (ground && open(c)));
        }
        let pairs = jambs.iter().flat_map(|a| jambs.iter().map(move |b| (a.distance2(*b), *a, *b)));
        let Some((_, a, b)) =
            pairs.max_by(|x, y| x.0.total_cmp(&y.0)).filter(|(square, ..)| *square > 1e5)
        else {
            self.report.dropped("a door with no walls beside it leaves a gap", level.as_str());
            return;
        };
        let id = OpeningId::from_name(&unused(&mut self.taken, &format!("{level} door")));
        let line = [whole(a), whole(b)];
        self.plan.openings.push(Opening {
            id,
            name: String::new(),
            level: level.clone(),
            leaf: Leaf::Door,
            line,
            exit,
        });
    }

    /// Stairs and lifts of neighbouring levels that lie over each other are one.
    fn stairs(&mut self) {
        let levels: Vec<LevelId> = self.plan.levels.iter().map(|level| level.id.clone()).collect();
        for (word, kind) in [("Stair", LinkKind::Stair), ("Lift", LinkKind::Lift)] {
            for pair in levels.windows(2) {
                let on = |level: &LevelId| -> Vec<Point> {
                    let here = self
                        .plan
                        .rooms
                        .iter()
                        .filter(|room| room.level == *level && room.name.starts_with(word));
                    here.filter_map(|room| border::inside(&room.shape)).collect()
                };
                let (below, above) = (on(&pair[0]), on(&pair[1]));
                for at in below {
                    let Some(up) = above.iter().copied().min_by_key(|up| up.distance_mm(at)) else {
                        continue;
                    };
                    if up.distance_mm(at) > STAIR_MM {
                        continue;
                    }
                    let id =
                        LinkId::from_name(&unused(&mut self.taken, &format!("{word} {}", pair[0])));
                    self.report.guessed(
                        "stairs and lifts that lie over each other are joined",
                        id.as_str(),
                    );
                    let feet = vec![
                        Foot { level: pair[0].clone(), at },
                        Foot { level: pair[1].clone(), at: up },
                    ];
                    let name = format!("{word} {} – {}", pair[0], pair[1]);
                    self.plan.links.push(Link {
                        id,
                        name,
                        kind,
                        feet,
                        rounds: false,
                        smoke_free: false,
                    });
                }
            }
        }
        let _ = self.wishes;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn feature(kind: &str, [w, s, e, n]: [f64; 4]) -> String {
        let (lon, lat) = (|m: f64| 10.0 + m / 71_696.0, |m: f64| 50.0 + m / 111_229.0);
        let (w, s, e, n) = (lon(w), lat(s), lon(e), lat(n));
        format!(
            r#"{{"type":"Feature","properties":{{"what":"{kind}"}},"geometry":{{"type":"Polygon","coordinates":[[[{w},{s}],[{e},{s}],[{e},{n}],[{w},{n}],[{w},{s}]]]}}}}"#
        )
    }

    /// A house of 9.2 m × 3 m in one wall across, 0.2 m thick, with a door 1 m wide in it.
    #[test]
    fn rooms_are_what_walls_leave_free() {
        let features = [
            feature("hull", [0.0, 0.0, 9.2, 3.0]),
            feature("brick", [4.0, 0.0, 4.2, 1.0]),
            feature("brick", [4.0, 2.0, 4.2, 3.0]),
            feature("leaf", [4.0, 1.0, 4.2, 2.0]),
        ];
        let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
        let mapping =
            "kind = \"what\"\noutline = [\"hull\"]\nwall = [\"brick\"]\ndoor = [\"leaf\"]\n";
        let Imported { plan, .. } =
            plan(&[("Ground", &text)], mapping, &Wishes::default()).expect("a plan");
        assert_eq!(plan.check(), vec![]);
        assert_eq!((plan.rooms.len(), plan.openings.len()), (3, 1));
        let floors = crate::Floors::new(&plan);
        assert!((floors.area_m2() - (27.6 - 0.4)).abs() < 0.1, "{}", floors.area_m2());
        let network =
            crate::Network::new(&plan, &floors, |passage| crate::network::walked(passage, 2.0));
        let spots: Vec<crate::Spot> = (plan
            .rooms
            .iter()
            .filter(|room| room.kind == RoomKind::Room))
        .filter_map(|room| {
            Some(crate::Spot { level: room.level.clone(), at: border::inside(&room.shape)? })
        })
        .collect();
        assert!(network.matrix(&spots).iter().all(|length| length.is_finite()));
    }

    /// A hall 8 m × 3 m of which one half is drawn as a room of its own, no wall between, and a ledge 0.2 m deep before
    /// its façade: one walks from half to half, and nobody stands on the ledge. The door in the façade leads out.
    #[test]
    fn open_halves_a_ledge_and_a_way_out() {
        let features = [
            feature("hull", [0.0, -0.4, 8.0, 3.0]),
            feature("brick", [0.0, -0.2, 1.0, 0.0]),
            feature("brick", [2.0, -0.2, 8.0, 0.0]),
            feature("leaf", [1.0, -0.2, 2.0, 0.0]),
            feature("half", [4.0, 0.0, 8.0, 3.0]),
        ];
        let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
        let mapping = "kind = \"what\"\noutline = [\"hull\"]\nwall = [\"brick\"]\ndoor = [\"leaf\"]\nroom = [\"half\"]\n";
        let Imported { plan, report } =
            plan(&[("Ground", &text)], mapping, &Wishes::default()).expect("a plan");
        assert!(plan.rooms.iter().any(|room| room.kind == RoomKind::Area), "{report}");
        assert!(report.to_string().contains("a ledge before the façade"), "{report}");
        assert_eq!(plan.openings.iter().map(|door| door.exit).collect::<Vec<_>>(), [true]);
    }
}
