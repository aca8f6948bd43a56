//! The floor of each level as triangles: rooms laid over each other, walls and closed doors on their borders.

use crate::fabric::{Leaf, Opening, Room, RoomKind};
use crate::id::LevelId;
use crate::plan::Plan;
use crate::shape::Point;
use geometry::arrangement::OnEdge;
use geometry::{Arrangement, Border, Grid, Line, Mesh};

/// Borders nearer than this are one border, in millimetres.
pub const MERGE_MM: f64 = 12.0;

/// One level's floor.
#[derive(Debug, Clone)]
pub struct Floor {
    /// The level.
    pub level: LevelId,
    /// Its triangles, in millimetres.
    pub mesh: Mesh,
    /// The room of the plan that each piece of the mesh is, by index.
    pub rooms: Vec<usize>,
    /// For each opening of this level (by index into the plan) the vertex in its middle, when it lies in a border.
    pub doors: Vec<(usize, Option<u32>)>,
    /// What cleaning changed.
    pub changes: geometry::Changes,
}

/// The floors of a plan, lowest first; levels without any floor are left out and named.
#[derive(Debug, Clone)]
pub struct Floors {
    /// Levels that have floor.
    pub floors: Vec<Floor>,
    /// Levels that have none, and why.
    pub without: Vec<(LevelId, String)>,
}

impl Floors {
    /// Lays out every level of a plan.
    pub fn new(plan: &Plan) -> Self {
        let (mut floors, mut without) = (Vec::new(), Vec::new());
        for level in &plan.levels {
            match Floor::new(plan, &level.id) {
                Ok(floor) => floors.push(floor),
                Err(fault) => without.push((level.id.clone(), fault.to_string())),
            }
        }
        Self { floors, without }
    }

    /// The floor of a level.
    pub fn of(&self, level: &LevelId) -> Option<usize> {
        self.floors.iter().position(|floor| floor.level == *level)
    }

    /// All floor, in square metres.
    pub fn area_m2(&self) -> f64 {
        // An empty sum of floats is minus zero.
        self.floors.iter().fold(0.0, |sum, floor| sum + floor.mesh.area / 1e6)
    }
}

impl Floor {
    /// Lays out one level.
    pub fn new(plan: &Plan, level: &LevelId) -> Result<Self, geometry::Fault> {
        let rooms: Vec<usize> =
            (0..plan.rooms.len()).filter(|&i| plan.rooms[i].level == *level).collect();
        let shapes: Vec<geometry::Shape> = rooms.iter().map(|&i| shape(&plan.rooms[i])).collect();
        let openings: Vec<usize> =
            (0..plan.openings.len()).filter(|&i| plan.openings[i].level == *level).collect();
        let mut lines = Vec::new();
        for &i in &openings {
            let opening = &plan.openings[i];
            let ([a, b], middle) = (opening.line, middle(opening));
            lines.push(line(a, middle));
            lines.push(line(middle, b));
        }
        for wall in plan.walls.iter().filter(|wall| wall.level == *level) {
            lines.extend(wall.line.windows(2).map(|ends| line(ends[0], ends[1])));
        }
        let arrangement = Arrangement::new(&shapes, &lines, Grid::whole(MERGE_MM))?;
        let areas: Vec<i128> =
            rooms.iter().map(|&i| plan.rooms[i].shape.double_area_mm2()).collect();
        let kinds: Vec<RoomKind> = rooms.iter().map(|&i| plan.rooms[i].kind).collect();
        let piece = |inside: &[u32]| {
            if inside.iter().any(|&s| !kinds[s as usize].walkable()) {
                return None;
            }
            inside.iter().copied().min_by_key(|&s| (areas[s as usize], s))
        };
        let leaf = |line: u32| openings.get(line as usize / 2).map(|&i| plan.openings[i].leaf);
        let border = |on: &OnEdge, one: u32, other: u32| {
            between(on, kinds[one as usize], kinds[other as usize], one == other, leaf)
        };
        let mesh = Mesh::new(&arrangement, piece, border)?;
        let doors =
            openings.iter().map(|&i| (i, vertex_near(&mesh, middle(&plan.openings[i])))).collect();
        Ok(Self { level: level.clone(), mesh, rooms, doors, changes: arrangement.changes })
    }

    /// The room of the plan in which a triangle lies.
    pub fn room(&self, t: u32) -> usize {
        self.rooms[self.mesh.piece[t as usize] as usize]
    }

    /// The rooms that touch a vertex, some perhaps more than once.
    pub fn rooms_around(&self, vertex: u32) -> Vec<usize> {
        self.mesh.triangles_at(vertex).map(|t| self.room(t)).collect()
    }

    /// The triangle under a place of the plan, and the room it lies in.
    pub fn room_at(&self, at: Point) -> Option<usize> {
        use geometry::Location::{Edge, Inside, Outside, Vertex};
        let t = match self.mesh.locate(place(at)) {
            Inside(t) => t,
            Edge(h) => h / 3,
            Vertex(v) => self.mesh.triangle_at(v)?,
            Outside => return None,
        };
        Some(self.room(t))
    }
}

/// A place of the plan in the floor's coordinates.
pub fn place(at: Point) -> geometry::Point {
    geometry::Point::new(at.x as f64, at.y as f64)
}

/// A place on the floor in the plan's whole millimetres.
pub fn whole(at: geometry::Point) -> Point {
    Point::new(libm::round(at.x) as i64, libm::round(at.y) as i64)
}

/// What an edge stops: an opening decides, then a wall, then the kinds of floor on both sides.
fn between(
    on: &OnEdge,
    one: RoomKind,
    other: RoomKind,
    same: bool,
    leaf: impl Fn(u32) -> Option<Leaf>,
) -> Border {
    let mut walled = false;
    for &line in &on.lines {
        match leaf(line) {
            Some(Leaf::Gap) => return Border::Open,
            Some(Leaf::Door | Leaf::Locked | Leaf::OneWay) => return Border::Door,
            Some(Leaf::Window) => return Border::Window,
            None => walled = true,
        }
    }
    let open = |kind: RoomKind| matches!(kind, RoomKind::Area | RoomKind::Doorway);
    if walled || !(same || open(one) || open(other)) { Border::Wall } else { Border::Open }
}

fn shape(room: &Room) -> geometry::Shape {
    let ring = |ring: &Vec<Point>| ring.iter().map(|&p| place(p)).collect();
    geometry::Shape { rings: room.shape.rings.iter().map(ring).collect() }
}

fn line(a: Point, b: Point) -> Line {
    Line { a: place(a), b: place(b) }
}

fn middle(opening: &Opening) -> Point {
    let [a, b] = opening.line;
    Point::new((a.x + b.x) / 2, (a.y + b.y) / 2)
}

fn vertex_near(mesh: &Mesh, at: Point) -> Option<u32> {
    let at = place(at);
    let near = mesh.nearest_vertex(at)?;
    (mesh.points[near as usize].distance(at) <= 2.0 * MERGE_MM).then_some(near)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{LevelId, OpeningId, RoomId};
    use crate::{Level, Shape};

    pub(crate) fn two_rooms(leaf: Leaf) -> Plan {
        let mut plan = Plan::simple("Gannet Quay", &["Ground"], 1800);
        let level = LevelId::from_name("ground");
        plan.levels.push(Level { id: level.clone(), name: "Ground".to_owned(), elevation_mm: 0 });
        for (id, x) in [("left", 0), ("right", 4000)] {
            plan.rooms.push(Room {
                id: RoomId::from_name(id),
                name: id.to_owned(),
                level: level.clone(),
                kind: RoomKind::Room,
                zone: None,
                shape: Shape::rectangle((x, 0), (x + 4000, 3000)),
            });
        }
        plan.openings.push(Opening {
            id: OpeningId::from_name("d"),
            name: String::new(),
            level,
            leaf,
            line: [Point::new(4000, 1000), Point::new(4000, 2000)],
            exit: false,
        });
        plan
    }

    fn seen_m2(leaf: Leaf) -> f64 {
        let floors = Floors::new(&two_rooms(leaf));
        let region =
            floors.floors[0].mesh.region(geometry::Point::new(2000.0, 1500.0), f64::INFINITY);
        region.expect("on the floor").area() / 1e6
    }

    /// Through a gap 1 m wide in the middle of the wall, seen from 2 m before it: a trapezium from 1 m to 3 m wide
    /// and 4 m deep, 8 m² (worked by hand).
    #[test]
    fn sight_stops_at_doors_and_goes_through_gaps() {
        assert!((seen_m2(Leaf::Door) - 12.0).abs() < 1e-9);
        assert!((seen_m2(Leaf::Gap) - 20.0).abs() < 1e-9);
        assert!((seen_m2(Leaf::Window) - 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_door_has_its_middle_and_a_place_its_room() {
        let plan = two_rooms(Leaf::Door);
        let floors = Floors::new(&plan);
        assert_eq!(floors.area_m2(), 24.0);
        assert!(floors.floors[0].doors[0].1.is_some());
        assert_eq!(floors.floors[0].room_at(Point::new(5000, 100)), Some(1));
        assert_eq!(floors.floors[0].room_at(Point::new(9000, 100)), None);
    }
}
