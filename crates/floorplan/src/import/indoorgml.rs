//! IndoorGML 1.x (OGC 14-005r5): cell spaces become rooms by the lowest level face of their solids, transitions between
//! states become doors where two cells lie side by side, and stairs where one lies above the other.

use super::border::{self, Side};
use super::xml::{Element, parse};
use super::{EXTENT_MAX_M, ImportError, Imported, Report, Wishes, levels_into_zones};
use crate::fabric::{Foot, Leaf, Link, LinkKind, Opening, Room, RoomKind};
use crate::id::{LevelId, LinkId, OpeningId, RoomId};
use crate::place::Level;
use crate::plan::{Plan, unused};
use crate::shape::{Point, Shape, ring_double_area};
use std::collections::{BTreeMap, BTreeSet};

/// Floors nearer in height than this are one level, in metres.
const SAME_LEVEL_M: f64 = 1.5;
/// Walls thicker than this between two cells are no door's depth, in millimetres.
const WALL_MAX_MM: i64 = 1500;
/// A passage that is guessed reaches so far into its cells, in millimetres.
const INTO_MM: f64 = 60.0;

struct Cell {
    id: String,
    name: String,
    floor: Vec<[f64; 2]>,
    base_m: f64,
}

/// Makes a plan out of an IndoorGML text. Coordinates are taken as metres in a flat frame.
pub fn plan(text: &str, wishes: &Wishes) -> Result<Imported, ImportError> {
    let malformed = |why: String| ImportError::Malformed { format: "IndoorGML", why };
    let root = parse(text).map_err(malformed)?;
    let mut report = Report::default();
    let cells = cells(&root, &mut report)?;
    let all = || cells.iter().flat_map(|cell| cell.floor.iter());
    let low = |k: usize| all().map(|p| p[k]).fold(f64::INFINITY, f64::min);
    let (x0, y0) = (low(0), low(1));
    let far = all().map(|p| (p[0] - x0).max(p[1] - y0)).fold(0.0, f64::max);
    if far > EXTENT_MAX_M as f64 {
        return Err(ImportError::Extent(far as i64));
    }
    report.guessed(
        "coordinates are metres in a flat frame; the corner of all cells is the plan's origin",
        "frame",
    );
    let mm = |p: [f64; 2]| {
        Point::new(libm::round((p[0] - x0) * 1e3) as i64, libm::round((p[1] - y0) * 1e3) as i64)
    };
    let mut plan = Plan::new(&wishes.name);
    let mut taken = BTreeMap::new();
    let bases = levels(&cells, &mut plan, &mut report);
    let mut room_of: BTreeMap<&str, usize> = BTreeMap::new();
    for cell in &cells {
        let level = plan.levels[level_at(&bases, cell.base_m)].id.clone();
        let id = RoomId::from_name(&unused(&mut taken, &format!("{level} {}", cell.name)));
        report.understood("cell space as room", id.as_str());
        room_of.insert(&cell.id, plan.rooms.len());
        let mut ring: Vec<Point> = cell.floor.iter().map(|&p| mm(p)).collect();
        ring.dedup();
        let shape = Shape { rings: vec![ring] };
        plan.rooms.push(Room {
            id,
            name: cell.name.clone(),
            level,
            kind: RoomKind::Room,
            zone: None,
            shape,
        });
    }
    let mut reading = Reading { plan, report, taken, wishes };
    let mut seen = BTreeSet::new();
    for (ends, line) in transitions(&root) {
        let (Some(&a), Some(&b)) = (room_of.get(ends.0.as_str()), room_of.get(ends.1.as_str()))
        else {
            reading.report.dropped("a transition to no cell", &format!("{} {}", ends.0, ends.1));
            continue;
        };
        if seen.insert((a.min(b), a.max(b))) {
            let line: Vec<Point> = line.into_iter().map(mm).collect();
            reading.transition(a, b, &line);
        }
    }
    levels_into_zones(&mut reading.plan, &mut reading.report, &mut reading.taken, wishes);
    Ok(Imported { plan: reading.plan, report: reading.report })
}

fn cells(root: &Element, report: &mut Report) -> Result<Vec<Cell>, ImportError> {
    let mut spaces = Vec::new();
    for kind in ["CellSpace", "GeneralSpace", "TransitionSpace", "ConnectionSpace", "AnchorSpace"] {
        root.all(kind, &mut spaces);
    }
    let mut out = Vec::new();
    for space in spaces {
        let id = space.attribute("id").unwrap_or_default().to_owned();
        let name = space
            .children_named("name")
            .next()
            .map_or(id.clone(), |name| name.text.trim().to_owned());
        let mut polygons = Vec::new();
        space.all("Polygon", &mut polygons);
        let faces = polygons.iter().filter_map(|polygon| face(polygon));
        let lowest = faces.min_by(|a, b| a.1.total_cmp(&b.1));
        match lowest {
            Some((floor, base_m)) => out.push(Cell { id, name, floor, base_m }),
            None => report.dropped("a cell without a level face", &id),
        }
    }
    if out.is_empty() {
        return Err(ImportError::NoFloor("no CellSpace has a level face".to_owned()));
    }
    Ok(out)
}

/// The outer ring of a level polygon and its height; none when it is not level or has no area.
fn face(polygon: &Element) -> Option<(Vec<[f64; 2]>, f64)> {
    let exterior = polygon.children_named("exterior").next()?;
    let points = positions(exterior);
    let z = points.first()?[2];
    if points.len() < 4
        || points.iter().any(|p| (p[2] - z).abs() > 0.02 || !p.iter().all(|v| v.is_finite()))
    {
        return None;
    }
    let mut ring: Vec<[f64; 2]> = points.iter().map(|p| [p[0], p[1]]).collect();
    ring.pop();
    let origin = ring[0];
    let flat: Vec<Point> = (ring.iter())
        .map(|p| Point::new(((p[0] - origin[0]) * 1e3) as i64, ((p[1] - origin[1]) * 1e3) as i64))
        .collect();
    (ring_double_area(&flat) != 0).then_some((ring, z))
}

/// The numbers of all `pos` and `posList`, three by three.
fn positions(element: &Element) -> Vec<[f64; 3]> {
    let mut texts = Vec::new();
    element.all("pos", &mut texts);
    element.all("posList", &mut texts);
    let numbers: Vec<f64> = texts
        .iter()
        .flat_map(|e| e.text.split_whitespace())
        .map(|n| n.parse().unwrap_or(f64::NAN))
        .collect();
    numbers.chunks_exact(3).map(|n| [n[0], n[1], n[2]]).collect()
}

/// Storeys by the height of the cells' floors.
fn levels(cells: &[Cell], plan: &mut Plan, report: &mut Report) -> Vec<f64> {
    let mut heights: Vec<f64> = cells.iter().map(|cell| cell.base_m).collect();
    heights.sort_by(f64::total_cmp);
    let mut bases: Vec<f64> = Vec::new();
    for height in heights {
        if bases.last().is_none_or(|base| height - base > SAME_LEVEL_M) {
            bases.push(height);
        }
    }
    let ground = bases.iter().position(|base| *base >= -SAME_LEVEL_M / 2.0).unwrap_or(0) as i64;
    for (i, base) in bases.iter().enumerate() {
        let number = i as i64 - ground;
        let id = LevelId::from_name(&format!(
            "level-{}{}",
            if number < 0 { "m" } else { "" },
            number.abs()
        ));
        report.guessed(
            "cells whose floors differ by less than 1.5 m in height share a level",
            id.as_str(),
        );
        let elevation_mm = libm::round(base * 1e3) as i64;
        plan.levels.push(Level { id, name: number.to_string(), elevation_mm });
    }
    bases
}

fn level_at(bases: &[f64], height: f64) -> usize {
    bases.iter().rposition(|base| height >= *base - 1e-9).unwrap_or(0)
}

/// The two cells that a transition joins, and its line.
type Joined = ((String, String), Vec<[f64; 2]>);

/// The cells that each transition joins, and its line.
fn transitions(root: &Element) -> Vec<Joined> {
    let (mut states, mut transitions) = (Vec::new(), Vec::new());
    root.all("State", &mut states);
    root.all("Transition", &mut transitions);
    let target =
        |e: &Element| e.attribute("href").map(|href| href.trim_start_matches('#').to_owned());
    let mut cell_of = BTreeMap::new();
    for state in states {
        let cell = state.children_named("duality").next().and_then(target);
        if let (Some(id), Some(cell)) = (state.attribute("id"), cell) {
            cell_of.insert(id.to_owned(), cell);
        }
    }
    let mut out = Vec::new();
    for transition in transitions {
        let ends: Vec<String> = transition
            .children_named("connects")
            .filter_map(target)
            .filter_map(|s| cell_of.get(&s).cloned())
            .collect();
        if let [a, b] = ends.as_slice() {
            out.push((
                (a.clone(), b.clone()),
                positions(transition).iter().map(|p| [p[0], p[1]]).collect(),
            ));
        }
    }
    out
}

struct Reading<'a> {
    plan: Plan,
    report: Report,
    taken: BTreeMap<String, u32>,
    wishes: &'a Wishes,
}

impl Reading<'_> {
    fn transition(&mut self, a: usize, b: usize, line: &[Point]) {
        let (one, other) = (&self.plan.rooms[a], &self.plan.rooms[b]);
        let part = format!("{} {}", one.id, other.id);
        if one.level != other.level {
            let (Some(from), Some(to)) = (border::inside(&one.shape), border::inside(&other.shape))
            else {
                return;
            };
            let mut feet = vec![
                Foot { level: one.level.clone(), at: from },
                Foot { level: other.level.clone(), at: to },
            ];
            feet.sort_by_key(|foot| {
                self.plan.levels.iter().position(|level| level.id == foot.level)
            });
            let id = LinkId::from_name(&unused(&mut self.taken, &format!("stair {}", one.name)));
            self.report.guessed("a transition between levels is a stair", id.as_str());
            let name = format!("{} / {}", one.name, other.name);
            let kind = LinkKind::Stair;
            self.plan.links.push(Link { id, name, kind, feet, rounds: false, smoke_free: false });
            return;
        }
        let (sides_a, sides_b) = (sides(&one.shape, a), sides(&other.shape, b));
        let crossing = nearest_pair(&crossings(line, &sides_a), &crossings(line, &sides_b));
        let mut bent = false;
        let crossing =
            crossing.filter(|(pa, pb)| pa.distance_mm(*pb) <= WALL_MAX_MM).or_else(|| {
                // The line ends beside a cell whose floor is cut out, as around a stair well: its bend marks the door.
                let bends = line.get(1..line.len().saturating_sub(1)).unwrap_or_default();
                let beside = |p: &Point| {
                    Some((border::nearest(*p, &sides_a)?, border::nearest(*p, &sides_b)?))
                };
                let found = bends.iter().filter_map(beside).min_by_key(|(a, b)| a.distance_mm(*b));
                let found = found.filter(|(pa, pb)| pa.distance_mm(*pb) <= WALL_MAX_MM)?;
                self.report.guessed("a door stands where its transition bends", &part);
                bent = true;
                Some(found)
            });
        let Some((pa, pb)) = crossing else {
            self.report.dropped("a transition whose line crosses no wall between its cells", &part);
            return;
        };
        self.report.guessed(&format!("a door is {} mm wide", self.wishes.door_mm), &part);
        if bent && pa.distance_mm(pb) > 20 {
            let level = one.level.clone();
            self.passage(level, pa, pb);
        } else {
            self.door(pa, pb, &sides_a, &sides_b);
        }
    }

    /// A straight passage from one cell to the other with a door half-way.
    fn passage(&mut self, level: LevelId, pa: Point, pb: Point) {
        let (dx, dy) = ((pb.x - pa.x) as f64, (pb.y - pa.y) as f64);
        let length = libm::hypot(dx, dy);
        let (dx, dy) = (dx / length, dy / length);
        let half = self.wishes.door_mm as f64 / 2.0;
        let at = |p: Point, along: f64, aside: f64| {
            let moved = |c: i64, d: f64| c + libm::round(d) as i64;
            Point::new(moved(p.x, dx * along - dy * aside), moved(p.y, dy * along + dx * aside))
        };
        let ring = vec![
            at(pa, -INTO_MM, -half),
            at(pb, INTO_MM, -half),
            at(pb, INTO_MM, half),
            at(pa, -INTO_MM, half),
        ];
        let line = [at(pa, length / 2.0, -half), at(pa, length / 2.0, half)];
        self.doorway(&level, ring);
        self.opening(level, line);
    }

    fn doorway(&mut self, level: &LevelId, ring: Vec<Point>) {
        let id = RoomId::from_name(&unused(&mut self.taken, &format!("{level} doorway")));
        let (name, level, shape) =
            ("Doorway".to_owned(), level.clone(), Shape { rings: vec![ring] });
        self.plan.rooms.push(Room { id, name, level, kind: RoomKind::Doorway, zone: None, shape });
    }

    fn opening(&mut self, level: LevelId, line: [Point; 2]) {
        let id = OpeningId::from_name(&unused(&mut self.taken, &format!("{level} door")));
        self.report.understood("transition as door", id.as_str());
        let (name, leaf, exit) = (String::new(), Leaf::Door, false);
        self.plan.openings.push(Opening { id, name, level, leaf, line, exit });
    }

    /// A door where the line leaves one cell at `pa` and enters the other at `pb`.
    fn door(&mut self, pa: Point, pb: Point, sides_a: &[Side], sides_b: &[Side]) {
        let width = self.wishes.door_mm;
        let level = self.plan.rooms[sides_a[0].of].level.clone();
        let Some(at_a) = border::place_door(pa, width, sides_a) else { return };
        let line = if pa.distance_mm(pb) <= 20 {
            at_a.line
        } else {
            let Some(at_b) = border::place_door(pb, width, sides_b) else { return };
            let [a, b] = at_a.line;
            // The jambs that face each other.
            let [c, d] = if a.distance_mm(at_b.line[0]) <= a.distance_mm(at_b.line[1]) {
                at_b.line
            } else {
                [at_b.line[1], at_b.line[0]]
            };
            self.doorway(&level, vec![a, b, d, c]);
            let half = |p: Point, q: Point| Point::new((p.x + q.x) / 2, (p.y + q.y) / 2);
            [half(a, c), half(b, d)]
        };
        self.opening(level, line);
    }
}

fn sides(shape: &Shape, of: usize) -> Vec<Side> {
    border::sides(std::iter::once((of, shape)))
}

/// Where a line crosses some sides.
fn crossings(line: &[Point], sides: &[Side]) -> Vec<Point> {
    let cross = |a: Point, b: Point, c: Point| {
        (b.x - a.x) as f64 * (c.y - a.y) as f64 - (b.y - a.y) as f64 * (c.x - a.x) as f64
    };
    let mut out = Vec::new();
    for leg in line.windows(2) {
        for side in sides {
            let (s, t) = (cross(side.a, side.b, leg[0]), cross(side.a, side.b, leg[1]));
            let (u, v) = (cross(leg[0], leg[1], side.a), cross(leg[0], leg[1], side.b));
            if s * t <= 0.0 && u * v <= 0.0 && s != t {
                let k = s / (s - t);
                let along = |p: i64, q: i64| libm::round(p as f64 + (q - p) as f64 * k) as i64;
                out.push(Point::new(along(leg[0].x, leg[1].x), along(leg[0].y, leg[1].y)));
            }
        }
    }
    out
}

fn nearest_pair(one: &[Point], other: &[Point]) -> Option<(Point, Point)> {
    let pairs = one.iter().flat_map(|&a| other.iter().map(move |&b| (a, b)));
    pairs.min_by_key(|(a, b)| (a.distance_mm(*b), *a, *b))
}

#[cfg(test)]
mod tests {
    use crate::import::{Wishes, read};

    /// Two cells 4 m × 3 m with a wall of 0.2 m between them, in the form of OGC 14-005r5.
    #[test]
    fn two_cells_and_a_transition() {
        let cell = |id: &str, x: f64| {
            let (e, ring) = (x + 4.0, |z: f64, x: f64, e: f64| {
                format!("{x} 0 {z} {e} 0 {z} {e} 3 {z} {x} 3 {z} {x} 0 {z}")
            });
            let polygon = |list: String| {
                format!(
                    "<gml:surfaceMember><gml:Polygon><gml:exterior><gml:LinearRing><gml:posList>{list}</gml:posList></gml:LinearRing></gml:exterior></gml:Polygon></gml:surfaceMember>"
                )
            };
            format!(
                r#"<cellSpaceMember><CellSpace gml:id="{id}"><gml:name>{id}</gml:name><cellSpaceGeometry><Geometry3D><gml:Solid><gml:exterior><gml:Shell>{}{}</gml:Shell></gml:exterior></gml:Solid></Geometry3D></cellSpaceGeometry></CellSpace></cellSpaceMember>"#,
                polygon(ring(2.5, x, e)),
                polygon(ring(0.0, x, e))
            )
        };
        let text = format!(
            r##"<IndoorFeatures xmlns:gml="g" xmlns:xlink="x">{}{}<State gml:id="R1"><duality xlink:href="#C1"/></State><State gml:id="R2"><duality xlink:href="#C2"/></State><Transition><connects xlink:href="#R1"/><connects xlink:href="#R2"/><gml:pos>2 1.5 1</gml:pos><gml:pos>6 1.5 1</gml:pos></Transition></IndoorFeatures>"##,
            cell("C1", 0.0),
            cell("C2", 4.2)
        );
        let plan = read(text.as_bytes(), None, None, &Wishes::default()).expect("a plan").plan;
        assert_eq!(plan.check(), vec![]);
        assert_eq!((plan.levels.len(), plan.rooms.len(), plan.openings.len()), (1, 3, 1));
        let floors = crate::Floors::new(&plan);
        assert!((floors.area_m2() - (24.0 + 0.9 * 0.2)).abs() < 1e-6, "{}", floors.area_m2());
        let network =
            crate::Network::new(&plan, &floors, |passage| crate::network::walked(passage, 2.0));
        let spot =
            |x| crate::Spot { level: plan.levels[0].id.clone(), at: crate::Point::new(x, 1500) };
        assert_eq!(network.matrix(&[spot(2000), spot(6000)])[1], 4000.0);
    }
}
