//! Floors to be seen: where one can stand, how far one sees, how far it is to walk, and what must be seen at all.

use floorplan::{Floors, Network, Plan, Spot};
use geometry::sweep::{Scratch, Through, Visitor, Wedge};
use geometry::{Graph, Location, Mesh, Placed, Point, Straight, Tree, Ways};

/// A place on one of the floors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Which floor.
    pub floor: usize,
    /// Where on it.
    pub at: Point,
}

/// Floors, the ways over them, and sight.
pub struct Scene<'a> {
    pub(crate) meshes: Vec<&'a Mesh>,
    ways: Vec<Ways>,
    offsets: Vec<u32>,
    graph: Graph,
    node_at: Vec<Place>,
    /// For each floor and triangle the range of sight there; zero where nothing need be seen.
    pub(super) ranges: Vec<Vec<f64>>,
    doors: Vec<Place>,
    /// Where ways lead that no straight step goes: through doors and over stairs.
    portals: Vec<Place>,
    /// Share of the floor that may stay unseen.
    spare: f64,
}

/// Sight is taken a little shorter than the range, so that a circle's inscribed polygon holds all that counts as seen.
const RANGE_SHARE: f64 = 0.9978;

impl<'a> Scene<'a> {
    /// One floor, seen as far as `range` (infinite for unlimited); only its largest connected part must be seen.
    pub fn single(mesh: &'a Mesh, range: f64) -> Self {
        let ways = Ways::new(mesh, &[]);
        let node_at = ways.nodes.iter().map(|node| Place { floor: 0, at: node.at }).collect();
        let parts = mesh.parts();
        let count = parts.iter().max().map_or(0, |&part| part as usize + 1);
        let mut areas = vec![0.0; count];
        parts
            .iter()
            .enumerate()
            .for_each(|(t, &part)| areas[part as usize] += mesh.triangle_area(t));
        let largest = (0..count).max_by(|&a, &b| areas[a].total_cmp(&areas[b])).unwrap_or(0);
        let ranges =
            parts.iter().map(|&part| if part as usize == largest { range } else { 0.0 }).collect();
        let graph = ways.graph.clone();
        Self {
            meshes: vec![mesh],
            ways: vec![ways],
            offsets: vec![0],
            graph,
            node_at,
            ranges: vec![ranges],
            doors: Vec::new(),
            portals: Vec::new(),
            spare: 0.0,
        }
    }

    /// The floors of a plan over its network: stairs, levels and doors as the network joins them. What must be seen is
    /// the largest floor that one closed walk from where people come in can reach; what is reached only by going
    /// outdoors, or not at all, is [`Scene::apart_area`]. Sight reaches `range_mm`, or what the zone of a room says.
    pub fn of_plan(plan: &Plan, floors: &'a Floors, network: &Network<'a>, range_mm: f64) -> Self {
        let walked = on_one_walk(floors, network);
        let mut ranges = Vec::new();
        for (floor, walked) in floors.floors.iter().zip(&walked) {
            let range = |t: usize| {
                let room = &plan.rooms[floor.room(t as u32)];
                let zone = room.zone.as_ref().and_then(|zone| plan.zone(zone));
                zone.and_then(|zone| zone.sight_mm).map_or(range_mm, |sight| sight as f64)
            };
            let wanted = walked.iter().enumerate();
            ranges.push(wanted.map(|(t, &walked)| if walked { range(t) } else { 0.0 }).collect());
        }
        let mut doors = Vec::new();
        for (f, floor) in floors.floors.iter().enumerate() {
            let middles = floor.doors.iter().filter_map(|&(_, vertex)| vertex);
            doors.extend(middles.map(|v| Place { floor: f, at: floor.mesh.points[v as usize] }));
        }
        let (ways, offsets, graph) = network.parts();
        let node_at: Vec<Place> =
            (network.node_places().iter()).map(|&(floor, at)| Place { floor, at }).collect();
        let portals = node_at.clone();
        let meshes = floors.floors.iter().map(|floor| &floor.mesh).collect();
        Self {
            meshes,
            ways: ways.to_vec(),
            offsets: offsets.to_vec(),
            graph: graph.clone(),
            node_at,
            ranges,
            doors,
            portals,
            spare: 0.0,
        }
    }

    /// The same floors, but up to this share of what must be seen may stay unseen: to compare with walks that were judged
    /// by samples, which never find the last of it.
    pub fn leaving(mut self, share: f64) -> Self {
        self.spare = share;
        self
    }

    /// The area that may stay unseen.
    pub(super) fn spare_area(&self) -> f64 {
        self.spare * self.floor_area()
    }

    /// The floor that must be seen.
    pub fn floor_area(&self) -> f64 {
        let mut sum = 0.0;
        for (mesh, ranges) in self.meshes.iter().zip(&self.ranges) {
            sum += ranges
                .iter()
                .enumerate()
                .filter(|(_, r)| **r > 0.0)
                .map(|(t, _)| mesh.triangle_area(t))
                .sum::<f64>();
        }
        sum
    }

    /// The floor that no closed walk over the rest of it reaches.
    pub fn apart_area(&self) -> f64 {
        self.meshes.iter().map(|mesh| mesh.area).sum::<f64>() - self.floor_area()
    }

    /// Whether a triangle must be seen.
    pub fn wanted(&self, floor: usize, t: u32) -> bool {
        self.ranges[floor][t as usize] > 0.0
    }

    /// How far one sees from a place; zero where nobody stands.
    pub fn range(&self, place: Place) -> f64 {
        let mesh = self.meshes[place.floor];
        let t = match mesh.locate(place.at) {
            Location::Outside => None,
            Location::Inside(t) => Some(t),
            Location::Edge(h) => Some(h / 3),
            Location::Vertex(v) => mesh.triangle_at(v),
        };
        t.map_or(0.0, |t| self.ranges[place.floor][t as usize])
    }

    /// The longer side of the floors' box.
    pub fn extent(&self) -> f64 {
        let points = || self.meshes.iter().flat_map(|mesh| mesh.points.iter());
        let span = |of: fn(&Point) -> f64| {
            points().map(of).fold(f64::NEG_INFINITY, f64::max)
                - points().map(of).fold(f64::INFINITY, f64::min)
        };
        span(|p| p.x).max(span(|p| p.y))
    }

    /// Nodes and placed points that steps reach straight from a place; node numbers are those of the whole.
    pub(crate) fn straight(
        &self,
        place: Place,
        others: &Placed,
        scratch: &mut Scratch,
    ) -> Straight {
        let (mesh, f) = (self.meshes[place.floor], place.floor);
        let found = self.ways[f].straight(mesh, place.at, mesh.locate(place.at), others, scratch);
        let mut straight = found.unwrap_or_default();
        straight.nodes.iter_mut().for_each(|(node, _)| *node += self.offsets[f]);
        straight
    }

    /// Lengths from the nodes given to all nodes.
    pub(crate) fn search(&self, sources: &[(u32, f64)], tree: &mut Tree) {
        self.graph.search(sources, tree);
    }

    pub(crate) fn node_count(&self) -> usize {
        self.graph.len()
    }

    /// The points among `others` that are seen from a place.
    pub(crate) fn seen(
        &self,
        place: Place,
        range: f64,
        others: &[Placed],
        scratch: &mut Scratch,
    ) -> Vec<u32> {
        let mesh = self.meshes[place.floor];
        let mut seeing = Seeing {
            others: &others[place.floor],
            p: place.at,
            range2: range * range,
            seen: Vec::new(),
        };
        mesh.sweep(place.at, range, Through::Sight, scratch, &mut seeing);
        seeing.seen.sort_unstable();
        seeing.seen.dedup();
        seeing.seen
    }

    /// The middles of doors: whoever stands there sees both sides.
    pub(crate) fn doors(&self) -> Vec<Place> {
        self.doors.clone()
    }

    /// Where a walk can come out without having come there in steps, and corners: none on a single floor.
    pub(crate) fn portals(&self) -> &[Place] {
        &self.portals
    }

    /// The longest range there is.
    pub(crate) fn farthest_sight(&self) -> f64 {
        self.ranges.iter().flatten().copied().fold(0.0, f64::max)
    }

    /// How far counts as seen, of a range.
    pub(crate) fn counted(range: f64) -> f64 {
        range * RANGE_SHARE
    }

    /// The way between two places, ends included; none when there is none.
    pub fn trail(&self, from: Place, to: Place) -> Option<(f64, Vec<Place>)> {
        let mut scratch = Scratch::default();
        let placed = self.placed_on(from.floor, &[to]);
        let start = self.straight(from, &placed, &mut scratch);
        if let Some(&(_, length)) = start.points.first() {
            return Some((length, vec![from, to]));
        }
        let end = self.straight(to, &Placed::default(), &mut scratch);
        let mut tree = Tree::default();
        self.search(&start.nodes, &mut tree);
        let total = |&(n, length): &(u32, f64)| tree.length(n) + length;
        let last = end.nodes.iter().min_by(|a, b| total(a).total_cmp(&total(b)))?;
        if total(last).is_infinite() {
            return None;
        }
        let mut way = vec![to];
        way.extend(tree.back_from(last.0).into_iter().map(|n| self.node_at[n as usize]));
        way.push(from);
        way.reverse();
        way.dedup();
        Some((total(last), way))
    }

    /// Places sorted into the triangles of their floors; numbers are those of the list.
    pub(crate) fn placed(&self, places: &[Place]) -> Vec<Placed> {
        (0..self.meshes.len()).map(|floor| self.placed_on(floor, places)).collect()
    }

    /// The same for one floor.
    pub(crate) fn placed_on(&self, floor: usize, places: &[Place]) -> Placed {
        // Places of other floors are put where no floor is.
        let nowhere = Point::new(f64::NAN, f64::NAN);
        let points: Vec<Point> = places
            .iter()
            .map(|place| if place.floor == floor { place.at } else { nowhere })
            .collect();
        Placed::new(self.meshes[floor], &points)
    }
}

/// For each floor and triangle whether it lies on the closed walk that reaches most floor.
fn on_one_walk(floors: &Floors, network: &Network<'_>) -> Vec<Vec<bool>> {
    let (mut spots, mut areas, mut parts_of) = (Vec::new(), Vec::new(), Vec::new());
    let mut numbers: Vec<Vec<Option<usize>>> = Vec::new();
    for floor in &floors.floors {
        let parts = floor.mesh.parts();
        let count = parts.iter().max().map_or(0, |&part| part as usize + 1);
        let mut largest: Vec<(f64, Option<usize>)> = vec![(0.0, None); count];
        let mut own = vec![0.0; count];
        for (t, &part) in parts.iter().enumerate() {
            let area = floor.mesh.triangle_area(t);
            own[part as usize] += area;
            if area > largest[part as usize].0 {
                largest[part as usize] = (area, Some(t));
            }
        }
        let number = |(part, (_, t)): (usize, &(f64, Option<usize>))| {
            let at = floorplan::floor::whole(floor.mesh.middle((*t)?));
            floor.room_at(at)?;
            spots.push(Spot { level: floor.level.clone(), at });
            areas.push(own[part]);
            Some(spots.len() - 1)
        };
        numbers.push(largest.iter().enumerate().map(number).collect());
        parts_of.push(parts);
    }
    let standing = network.stand(&spots, &[]);
    let entered: Vec<bool> = network.entered(&standing).iter().map(|l| l.is_finite()).collect();
    let (mut left, mut best, mut most) = (entered.clone(), vec![false; spots.len()], 0.0);
    let by_area = |i: &usize, j: &usize| areas[*i].total_cmp(&areas[*j]).then(j.cmp(i));
    while let Some(i) = (0..spots.len()).filter(|&i| left[i]).max_by(by_area) {
        let with = network.walked_with(&standing, i);
        let with: Vec<bool> = with.iter().zip(&entered).map(|(w, e)| *w && *e).collect();
        let area: f64 = areas.iter().zip(&with).filter(|(_, w)| **w).map(|(a, _)| a).sum();
        left.iter_mut().zip(&with).for_each(|(left, with)| *left &= !with);
        if area > most {
            (best, most) = (with, area);
        }
        let rest: f64 = areas.iter().zip(&left).filter(|(_, l)| **l).map(|(a, _)| a).sum();
        if most >= rest {
            break;
        }
    }
    let on = |(parts, numbers): (&Vec<u32>, &Vec<Option<usize>>)| -> Vec<bool> {
        parts.iter().map(|&part| numbers[part as usize].is_some_and(|i| best[i])).collect()
    };
    parts_of.iter().zip(&numbers).map(on).collect()
}

struct Seeing<'a> {
    others: &'a Placed,
    p: Point,
    range2: f64,
    seen: Vec<u32>,
}

impl Visitor for Seeing<'_> {
    fn start(&mut self, t: u32) {
        for &i in self.others.within(t) {
            if self.p.distance2(self.others.points[i as usize]) <= self.range2 {
                self.seen.push(i);
            }
        }
    }

    fn enter(&mut self, t: u32, wedge: Wedge) {
        for &i in self.others.within(t) {
            let q = self.others.points[i as usize];
            if self.p.distance2(q) <= self.range2 && wedge.holds(self.p, q) {
                self.seen.push(i);
            }
        }
    }
}
