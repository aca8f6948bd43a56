//! The survey of a plan: what cannot be reached, and distances against limits with their sources.
//!
//! Distances are walked ones unless said otherwise: lines on the floor around corners and through doors, stairs by
//! their slope. The most remote place is sought at every corner of the floor and on a grid of 1 m, so it is at most
//! 0.71 m short of the truth. A limit without a source is not stated.

mod equipment;
mod exits;
mod hot_work;
mod reach;

use crate::floor::{Floors, whole};
use crate::id::RoomId;
use crate::limits::{Circumstances, Limit, Limits, Value};
use crate::network::{Network, Passage, Spot, walked};
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
    /// Distances and areas against limits.
    pub checks: Vec<Check>,
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
    /// What is missing, for people.
    pub fn name(self) -> &'static str {
        match self {
            Missing::Door => "a door in its border",
            Missing::WayIn => "a way from its doors to where people come in",
            Missing::Stair => "a stair, ramp or exit on its level",
        }
    }
}

/// One thing measured against a limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What is measured.
    pub what: String,
    /// In millimetres (or square millimetres); infinite when there is none at all.
    pub measured_mm: f64,
    /// The limit in the same unit; none when no source states one.
    pub limit_mm: Option<f64>,
    /// Document and clause.
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
    /// Corners of the floor and a grid of 1 m.
    pub(crate) spots: Vec<Spot>,
}

/// Surveys a plan.
pub fn survey(plan: &Plan, limits: &Limits, at: &Circumstances) -> Survey {
    let floors = Floors::new(plan);
    let slope = limits.usual("stair-slope").unwrap_or(2000) as f64 / 1e3;
    let network = Network::new(plan, &floors, |passage: Passage| walked(passage, slope));
    let spots = spots(&floors);
    let surveying = Surveying { plan, floors: &floors, network, limits, at, spots };
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
    Survey { levels, floor_m2: floors.area_m2(), unreachable: surveying.unreachable(), checks }
}

impl Surveying<'_> {
    /// A check against an upper bound; without one that fits, only the measure.
    pub(crate) fn at_most(
        &self,
        what: &str,
        id: &str,
        class: Option<&str>,
        measured: f64,
        place: Option<Spot>,
    ) -> Check {
        let found = self.limits.find(id, self.at, class);
        let bound = found
            .and_then(|(limit, value)| Some((limit.in_mm(value.at_most?), cited(limit, value))));
        let (limit_mm, source) = match bound {
            Some((limit, source)) => (Some(limit), source),
            None => (None, "no source states a number: the authority decides".to_owned()),
        };
        let ok = limit_mm.map(|limit| measured <= limit);
        Check { what: what.to_owned(), measured_mm: measured, limit_mm, source, ok, place }
    }
}

fn cited(_limit: &Limit, value: &Value) -> String {
    let known = if value.known == "read" { String::new() } else { format!(" ({})", value.known) };
    format!("{} {}{known}", value.source, value.clause)
}

/// Corners of the floor drawn 1 mm inward, and a grid of 1 m.
fn spots(floors: &Floors) -> Vec<Spot> {
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
            let metre = |v: f64| libm::ceil(v / 1e3) as i64;
            for x in metre(lo.x)..=metre(hi.x) - 1 {
                for y in metre(lo.y)..=metre(hi.y) - 1 {
                    let at = geometry::Point::new(x as f64 * 1e3, y as f64 * 1e3);
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
                        "missing": u.missing.name() })
            })
            .collect();
        let checks: Vec<Json> = self.checks.iter().map(Check::json).collect();
        json!({ "levels": levels, "zones": zones, "floor_m2": rounded(self.floor_m2), "unreachable": unreachable, "checks": checks })
    }
}

impl Check {
    /// The check for machines, in metres or square metres.
    pub fn json(&self) -> Json {
        json!({ "what": self.what, "measured_m": finite(self.measured_mm / self.scale()),
                "limit_m": self.limit_mm.map(|limit| rounded(limit / self.scale())), "source": self.source,
                "ok": self.ok, "level": self.place.as_ref().map(|spot| &spot.level),
                "at_m": self.place.as_ref().map(metres) })
    }

    /// Millimetres in a metre, or square ones in a square metre.
    fn scale(&self) -> f64 {
        if self.what.starts_with("floor area") { 1e6 } else { 1e3 }
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
