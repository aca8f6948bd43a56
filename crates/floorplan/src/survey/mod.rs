//! The survey of a plan: what cannot be reached, and distances against limits with their sources.
//!
//! Distances are walked ones unless said otherwise: lines on the floor around corners and through doors, stairs by
//! their slope. The most remote place is sought at every corner of the floor and on a grid of 1 m, so it is at most
//! 0.71 m short of the truth; on very wide floors the grid is coarser, and the survey says so ([`Survey::grid_m`]). A limit
//! without a source is not stated.

mod equipment;
mod exits;
mod hot_work;
mod reach;

use crate::floor::{Floors, whole};
use crate::id::{LevelId, LinkId, OpeningId, RoomId};
use crate::limits::{Circumstances, Limit, Limits, Value};
use crate::network::{Network, Passage, Spot, Standing, walked};
use crate::plan::Plan;
use serde_json::{Value as Json, json};

/// What a survey found.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// Each level: id, name, elevation, rooms, floor.
    pub levels: Vec<LevelFloor>,
    /// All floor, in square metres.
    pub floor_m2: f64,
    /// Rooms nobody can walk to.
    pub unreachable: Vec<Unreachable>,
    /// Doors that lie in no wall, or lead nowhere.
    pub loose_doors: Vec<OpeningId>,
    /// Stairs, ramps and lifts with a foot that stands on no floor.
    pub loose_links: Vec<LinkId>,
    /// Levels without floor, and why.
    pub without_floor: Vec<(LevelId, String)>,
    /// Distances and areas against limits.
    pub checks: Vec<Check>,
    /// The grid on which the most remote place was sought, in metres: what is said of it is at most 0.71 times that short
    /// of the truth.
    pub grid_m: u32,
}

/// A level and its floor.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelFloor {
    /// By index into the plan.
    pub level: usize,
    /// Rooms on it.
    pub rooms: usize,
    /// Its floor, in square metres.
    pub floor_m2: f64,
}

/// A room nobody can walk to, and what is missing.
#[derive(Debug, Clone, PartialEq)]
pub struct Unreachable {
    /// The room.
    pub room: RoomId,
    /// A place in it.
    pub spot: Spot,
    /// Its floor, in square metres.
    pub floor_m2: f64,
    /// What is missing.
    pub missing: Missing,
}

/// What keeps people out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Missing {
    /// Its border has no door.
    Door,
    /// It has doors, but none leads to where people come in.
    WayIn,
    /// Its level has no stair, ramp or exit.
    Stair,
}

impl Missing {
    /// Its name in a survey for machines.
    pub fn code(self) -> &'static str {
        match self {
            Missing::Door => "door",
            Missing::WayIn => "way-in",
            Missing::Stair => "stair",
        }
    }
}

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// From the most remote place to the nearest exit.
    ExitTravel,
    /// The plan shows no exit at all.
    NoExit,
    /// From the most remote place of a part of the floor with one door to that door.
    OnlyDoor,
    /// From the most remote place to the nearest call spot.
    CallSpot,
    /// From the most remote place to the nearest Class A extinguisher.
    ClassATravel,
    /// A place from which no way leads to any Class A extinguisher.
    ClassANone,
    /// Floor for each Class A extinguisher, an area.
    ClassAArea,
    /// From a flammable liquid or gas (`of`) to the nearest Class B extinguisher.
    ClassBTravel,
    /// Straight from hot work (`of`) to something that burns (`to`).
    HotWorkCombustible,
    /// Straight from hot work (`of`) to an opening (`to`).
    HotWorkOpening,
    /// From hot work (`of`) to an extinguisher of Classes A and B.
    HotWorkExtinguisher,
}

impl What {
    /// Its name in a survey for machines.
    pub fn code(self) -> &'static str {
        match self {
            What::ExitTravel => "exit-travel",
            What::NoExit => "no-exit",
            What::OnlyDoor => "only-door",
            What::CallSpot => "call-spot",
            What::ClassATravel => "extinguisher-a-travel",
            What::ClassANone => "extinguisher-a-none",
            What::ClassAArea => "extinguisher-a-area",
            What::ClassBTravel => "extinguisher-b-travel",
            What::HotWorkCombustible => "hot-work-combustible",
            What::HotWorkOpening => "hot-work-opening",
            What::HotWorkExtinguisher => "hot-work-extinguisher",
        }
    }

    /// The limit it is held against, and the class of fire that limit depends on.
    fn limit(self) -> (&'static str, Option<&'static str>) {
        match self {
            What::ExitTravel | What::NoExit => ("exit-travel", None),
            What::OnlyDoor => ("common-path", None),
            What::CallSpot => ("call-spot", None),
            What::ClassATravel | What::ClassANone => ("extinguisher-travel", Some("A")),
            What::ClassAArea => ("extinguisher-area", None),
            What::ClassBTravel => ("extinguisher-travel", Some("B")),
            What::HotWorkCombustible | What::HotWorkOpening => ("hot-work-distance", None),
            What::HotWorkExtinguisher => ("hot-work-extinguisher", None),
        }
    }
}

/// One thing measured against a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What is measured.
    pub what: What,
    /// The name of what it is measured from, where it is a thing of the plan.
    pub of: String,
    /// The name of what it is measured to, where it is a thing of the plan.
    pub to: String,
    /// In millimetres (or square millimetres); infinite when there is none at all.
    pub measured_mm: f64,
    /// The limit in the same unit; none when no source states one.
    pub limit_mm: Option<f64>,
    /// Document and clause; empty when no source states a number.
    pub source: String,
    /// Within the limit; none without a limit.
    pub ok: Option<bool>,
    /// Where it was measured.
    pub place: Option<Spot>,
}

/// A plan being surveyed.
pub(crate) struct Surveying<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) floors: &'a Floors,
    pub(crate) network: Network<'a>,
    pub(crate) limits: &'a Limits,
    pub(crate) at: &'a Circumstances,
    /// Corners of the floor and a grid.
    pub(crate) spots: Vec<Spot>,
    pub(crate) standing: Standing,
}

/// Surveys a plan.
pub fn survey(plan: &Plan, limits: &Limits, at: &Circumstances) -> Survey {
    let floors = Floors::new(plan);
    let slope = limits.usual("stair-slope").unwrap_or(2000) as f64 / 1e3;
    let network = Network::new(plan, &floors, |passage: Passage| walked(passage, slope));
    let grid_m = grid_m(&floors);
    let spots = spots(&floors, grid_m);
    let standing = network.stand(&spots, &[]);
    let surveying = Surveying { plan, floors: &floors, network, limits, at, spots, standing };
    let levels = (plan.levels.iter().enumerate())
        .map(|(i, level)| LevelFloor {
            level: i,
            rooms: plan.rooms.iter().filter(|room| room.level == level.id).count(),
            floor_m2: floors.of(&level.id).map_or(0.0, |f| floors.floors[f].mesh.area / 1e6),
        })
        .collect();
    let mut checks = Vec::new();
    surveying.exits(&mut checks);
    surveying.equipment(&mut checks);
    surveying.hot_work(&mut checks);
    let network = &surveying.network;
    let mut loose_links: Vec<LinkId> =
        network.loose_feet.iter().map(|&(link, _)| plan.links[link].id.clone()).collect();
    loose_links.dedup();
    Survey {
        levels,
        floor_m2: floors.area_m2(),
        unreachable: surveying.unreachable(),
        loose_doors: network.loose_doors.iter().map(|&i| plan.openings[i].id.clone()).collect(),
        loose_links,
        without_floor: floors.without.clone(),
        checks,
        grid_m,
    }
}

impl Surveying<'_> {
    /// A check against an upper bound; without one that fits, only the measure.
    pub(crate) fn at_most(&self, what: What, measured: f64, place: Option<Spot>) -> Check {
        let (id, class) = what.limit();
        let found = self.limits.find(id, self.at, class);
        let bound = found.and_then(|(limit, value)| value.at_most.map(|b| limit.in_mm(b)));
        let source = match (bound, found) {
            (Some(_), Some((limit, value))) => cited(limit, value),
            _ => String::new(),
        };
        let ok = bound.map(|bound| measured <= bound);
        let (of, to) = (String::new(), String::new());
        Check { what, of, to, measured_mm: measured, limit_mm: bound, source, ok, place }
    }
}

fn cited(_limit: &Limit, value: &Value) -> String {
    let known = if value.known == "read" { String::new() } else { format!(" ({})", value.known) };
    format!("{} {}{known}", value.source, value.clause)
}

/// So many places of a grid are tried at most (our own choice): half a square kilometre by the metre.
const TRIED_MAX: f64 = 500_000.0;

/// Metres from one place of the grid to the next. Triangles are gone through by the rectangles around them.
fn grid_m(floors: &Floors) -> u32 {
    let mut around_m2 = 0.0;
    for mesh in floors.floors.iter().map(|floor| &floor.mesh) {
        for t in 0..mesh.triangles.len() {
            let (lo, hi) = bounds(mesh.corners(t));
            around_m2 += (hi.x - lo.x) * (hi.y - lo.y) / 1e6;
        }
    }
    libm::ceil(libm::sqrt(around_m2 / TRIED_MAX)).max(1.0) as u32
}

/// Corners of the floor drawn 1 mm inward, and a grid.
fn spots(floors: &Floors, grid_m: u32) -> Vec<Spot> {
    let grid_mm = f64::from(grid_m) * 1e3;
    let mut out = Vec::new();
    for floor in &floors.floors {
        let mesh = &floor.mesh;
        let mut add = |at: geometry::Point| {
            out.push(Spot { level: floor.level.clone(), at: whole(at) });
        };
        for t in 0..mesh.triangles.len() {
            let (corners, middle) = (mesh.corners(t), mesh.middle(t));
            add(middle);
            for corner in corners {
                let away = corner.distance(middle).max(1.0);
                add(corner.toward(middle, (3.0 / away).min(1.0)));
            }
            let (lo, hi) = bounds(corners);
            let line = |v: f64| libm::ceil(v / grid_mm) as i64;
            for x in line(lo.x)..=line(hi.x) - 1 {
                for y in line(lo.y)..=line(hi.y) - 1 {
                    let at = geometry::Point::new(x as f64 * grid_mm, y as f64 * grid_mm);
                    let inside = |i: usize| {
                        geometry::turn(corners[i], corners[(i + 1) % 3], at) == geometry::Turn::Left
                    };
                    if (0..3).all(inside) {
                        add(at);
                    }
                }
            }
        }
    }
    out.sort();
    out.dedup();
    out
}

fn bounds(corners: [geometry::Point; 3]) -> (geometry::Point, geometry::Point) {
    let [a, b, c] = corners;
    (
        geometry::Point::new(a.x.min(b.x).min(c.x), a.y.min(b.y).min(c.y)),
        geometry::Point::new(a.x.max(b.x).max(c.x), a.y.max(b.y).max(c.y)),
    )
}

impl Survey {
    /// The survey for machines: metres, square metres, plain numbers; `null` where nothing can be measured or no source
    /// states a number.
    pub fn json(&self, plan: &Plan) -> Json {
        let levels: Vec<Json> = (self.levels.iter())
            .map(|floor| {
                let level = &plan.levels[floor.level];
                json!({ "id": level.id, "name": level.name, "elevation_m": level.elevation_mm as f64 / 1e3,
                        "rooms": floor.rooms, "floor_m2": rounded(floor.floor_m2) })
            })
            .collect();
        let zones: Vec<Json> = (plan.zones.iter())
            .map(|zone| json!({ "id": zone.id, "name": zone.name, "level": zone.level, "kind": zone.kind, "gap_s": zone.gap_s }))
            .collect();
        let unreachable: Vec<Json> = (self.unreachable.iter())
            .map(|u| {
                json!({ "room": u.room, "level": u.spot.level, "at_m": metres(&u.spot), "floor_m2": rounded(u.floor_m2),
                        "missing": u.missing.code() })
            })
            .collect();
        let checks: Vec<Json> = self.checks.iter().map(Check::json).collect();
        let without: Vec<&LevelId> = self.without_floor.iter().map(|(level, _)| level).collect();
        json!({ "levels": levels, "zones": zones, "floor_m2": rounded(self.floor_m2), "unreachable": unreachable,
                "loose_doors": self.loose_doors, "loose_links": self.loose_links, "levels_without_floor": without,
                "checks": checks, "grid_m": self.grid_m })
    }
}

impl Check {
    /// The check for machines, in metres or square metres.
    pub fn json(&self) -> Json {
        let text = |text: &String| (!text.is_empty()).then(|| text.clone());
        json!({ "what": self.what.code(), "of": text(&self.of), "to": text(&self.to),
                "measured_m": finite(self.measured_mm / self.scale()),
                "limit_m": self.limit_mm.map(|limit| rounded(limit / self.scale())), "source": text(&self.source),
                "ok": self.ok, "level": self.place.as_ref().map(|spot| &spot.level),
                "at_m": self.place.as_ref().map(metres) })
    }

    /// Millimetres in a metre, or square ones in a square metre.
    pub fn scale(&self) -> f64 {
        if self.what == What::ClassAArea { 1e6 } else { 1e3 }
    }
}

fn metres(spot: &Spot) -> [f64; 2] {
    [spot.at.x as f64 / 1e3, spot.at.y as f64 / 1e3]
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then(|| rounded(value))
}

fn rounded(value: f64) -> f64 {
    libm::round(value * 1e3) / 1e3
}
