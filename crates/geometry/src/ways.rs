//! Walking distance: the shortest way bends only where the floor turns around a corner, so the corners that see each
//! other make a graph (T. Lozano-Pérez and M. A. Wesley, 1979), kept to lines that can be part of a shortest way at
//! both ends, and searched by E. W. Dijkstra's method (1959). A corner stands once for each side of floor it touches,
//! so that no way slips through a place where walls meet.

use crate::arrangement::NONE;
use crate::graph::{Graph, Tree};
use crate::locate::Location;
use crate::mesh::{Mesh, previous};
use crate::point::{Point, cross_from};
use crate::sweep::{Scratch, Through, Visitor, Wedge};

/// A corner that ways can bend around, or a place the caller asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Its vertex.
    pub vertex: u32,
    /// Where it is.
    pub at: Point,
    first: Point,
    last: Point,
    /// A place: ways to it need not be taut.
    place: bool,
}

/// The corners of a floor and the straight ways between them.
#[derive(Debug, Clone)]
pub struct Ways {
    /// Corners and places.
    pub nodes: Vec<Node>,
    /// Straight ways between them, in the caller's length unit.
    pub graph: Graph,
    /// The node that a half-edge leaves, or NONE.
    node_of: Vec<u32>,
}

/// A way as its corners, ends included.
#[derive(Debug, Clone, PartialEq)]
pub struct Trail {
    /// Its length.
    pub length: f64,
    /// Its corners.
    pub points: Vec<Point>,
}

/// Points of the caller's, sorted into triangles.
#[derive(Debug, Clone, Default)]
pub struct Placed {
    /// The points.
    pub points: Vec<Point>,
    /// Where each lies.
    pub locations: Vec<Location>,
    starts: Vec<u32>,
    entries: Vec<u32>,
}

/// What can be reached from a place in a straight line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Straight {
    /// Nodes and how far they are.
    pub nodes: Vec<(u32, f64)>,
    /// Placed points and how far they are.
    pub points: Vec<(u32, f64)>,
}

impl Placed {
    /// Sorts points into the triangles of a floor.
    pub fn new(mesh: &Mesh, points: &[Point]) -> Self {
        let locations: Vec<Location> = points.iter().map(|&p| mesh.locate(p)).collect();
        let mut pairs = Vec::new();
        for (i, &location) in locations.iter().enumerate() {
            mesh.around(location, |t| pairs.push((t, i as u32)));
        }
        let mut starts = vec![0u32; mesh.triangles.len() + 1];
        pairs.iter().for_each(|&(t, _)| starts[t as usize + 1] += 1);
        for t in 0..mesh.triangles.len() {
            starts[t + 1] += starts[t];
        }
        pairs.sort_unstable();
        Self {
            points: points.to_vec(),
            locations,
            starts,
            entries: pairs.into_iter().map(|(_, i)| i).collect(),
        }
    }

    /// The points that lie in a triangle or on its border.
    pub fn within(&self, t: u32) -> &[u32] {
        if self.starts.is_empty() {
            return &[];
        }
        &self.entries[self.starts[t as usize] as usize..self.starts[t as usize + 1] as usize]
    }
}

impl Mesh {
    /// Calls `visit` with each floor triangle that touches a location.
    pub(crate) fn around(&self, location: Location, mut visit: impl FnMut(u32)) {
        match location {
            Location::Outside => {}
            Location::Inside(t) => visit(t),
            Location::Edge(h) => {
                visit(h / 3);
                let twin = self.twins[h as usize];
                if twin != NONE {
                    visit(twin / 3);
                }
            }
            Location::Vertex(v) => self.leaving(v).iter().for_each(|h| visit(h / 3)),
        }
    }
}

impl Ways {
    /// The corners of a floor, and `places` (vertices) beside them; steps do not pass walls, doors or windows.
    pub fn new(mesh: &Mesh, places: &[u32]) -> Self {
        let mut ways = Self {
            nodes: Vec::new(),
            graph: Graph::default(),
            node_of: vec![NONE; mesh.triangles.len() * 3],
        };
        let mut fans = Vec::new();
        for vertex in 0..mesh.points.len() as u32 {
            let place = places.contains(&vertex);
            for fan in mesh.fans(vertex, &mesh.step_twins) {
                let Some((&first, &last)) = fan.edges.first().zip(fan.edges.last()) else {
                    continue;
                };
                let at = mesh.points[vertex as usize];
                let first = mesh.points[mesh.ends(first as usize).1 as usize];
                let last = mesh.points[mesh.ends(previous(last) as usize).0 as usize];
                if place || (!fan.round && bends(at, first, last)) {
                    let node = ways.nodes.len() as u32;
                    fan.edges.iter().for_each(|&h| ways.node_of[h as usize] = node);
                    ways.nodes.push(Node { vertex, at, first, last, place });
                    fans.push(fan.edges);
                }
            }
        }
        ways.graph = Graph::new(ways.nodes.len());
        let mut scratch = Scratch::default();
        let nobody = Placed::default();
        for (n, fan) in fans.iter().enumerate() {
            let from = ways.nodes[n];
            let mut seeing = Seeing::new(&ways, &nobody, from.at);
            mesh.sweep_fan(
                from.vertex,
                fan,
                f64::INFINITY,
                Through::Steps,
                &mut scratch,
                &mut seeing,
            );
            let seen = seeing.done();
            for (to, length) in seen.nodes {
                if to != n as u32 && from.taut(ways.nodes[to as usize].at) {
                    ways.graph.join(n as u32, to, length);
                }
            }
        }
        ways
    }

    /// What can be reached from `p` in a straight line; none when `p` is not on the floor.
    pub fn straight(
        &self,
        mesh: &Mesh,
        p: Point,
        location: Location,
        others: &Placed,
        scratch: &mut Scratch,
    ) -> Option<Straight> {
        let mut seeing = Seeing::new(self, others, p);
        mesh.sweep_from(p, location, f64::INFINITY, Through::Steps, scratch, &mut seeing)
            .then(|| seeing.done())
    }

    /// The node at a vertex on the side of the floor where the triangle of half-edge `h` lies.
    pub fn node_at(&self, h: u32) -> Option<u32> {
        let node = self.node_of[h as usize];
        (node != NONE).then_some(node)
    }

    /// All nodes at a vertex, one for each side of floor.
    pub fn nodes_at(&self, mesh: &Mesh, vertex: u32) -> Vec<u32> {
        let mut nodes: Vec<u32> =
            mesh.leaving(vertex).iter().filter_map(|&h| self.node_at(h)).collect();
        nodes.sort_unstable();
        nodes.dedup();
        nodes
    }

    /// A place on the floor that a node belongs to: the middle of a triangle around it.
    pub fn floor_side(&self, mesh: &Mesh, node: u32) -> Point {
        let around = mesh.leaving(self.nodes[node as usize].vertex);
        let h = around.iter().find(|&&h| self.node_of[h as usize] == node);
        h.map_or(self.nodes[node as usize].at, |h| mesh.middle(*h as usize / 3))
    }

    /// Walking distances between all pairs of points, row by row; infinite where there is no way.
    pub fn matrix(&self, mesh: &Mesh, points: &[Point]) -> Vec<f64> {
        let placed = Placed::new(mesh, points);
        let mut scratch = Scratch::default();
        let straight: Vec<Straight> = (points.iter().zip(&placed.locations))
            .map(|(&p, &at)| self.straight(mesh, p, at, &placed, &mut scratch).unwrap_or_default())
            .collect();
        let count = points.len();
        let mut out = vec![f64::INFINITY; count * count];
        let mut tree = Tree::default();
        for i in 0..count {
            self.graph.search(&straight[i].nodes, &mut tree);
            out[i * count + i] = 0.0;
            for &(j, length) in &straight[i].points {
                out[i * count + j as usize] = length;
            }
            for j in i + 1..count {
                let around = straight[j].nodes.iter().map(|&(n, length)| tree.length(n) + length);
                let best = around.fold(out[i * count + j], f64::min);
                out[i * count + j] = best;
                out[j * count + i] = best;
            }
        }
        out
    }

    /// The shortest way between two places; none when there is none.
    pub fn trail(&self, mesh: &Mesh, p: Point, q: Point) -> Option<Trail> {
        let placed = Placed::new(mesh, &[q]);
        let mut scratch = Scratch::default();
        let from = self.straight(mesh, p, mesh.locate(p), &placed, &mut scratch)?;
        if let Some(&(_, length)) = from.points.first() {
            return Some(Trail { length, points: vec![p, q] });
        }
        let to = self.straight(mesh, q, mesh.locate(q), &Placed::default(), &mut scratch)?;
        let mut tree = Tree::default();
        self.graph.search(&from.nodes, &mut tree);
        let total = |&(n, length): &(u32, f64)| tree.length(n) + length;
        let last = to.nodes.iter().min_by(|a, b| total(a).total_cmp(&total(b)))?;
        let length = total(last);
        if length.is_infinite() {
            return None;
        }
        let mut points = vec![q];
        points.extend(tree.back_from(last.0).into_iter().map(|n| self.nodes[n as usize].at));
        points.push(p);
        points.reverse();
        Some(Trail { length, points })
    }
}

impl Node {
    /// Whether a shortest way can come from `p` and go on around this corner: the walls lie on one side of the line.
    fn taut(&self, p: Point) -> bool {
        self.place || cross_from(p, self.at, self.first) * cross_from(p, self.at, self.last) >= 0.0
    }
}

/// Whether the floor turns more than half around a corner, from the direction of `first` counter-clockwise to `last`.
fn bends(at: Point, first: Point, last: Point) -> bool {
    let cross = cross_from(at, first, last);
    let dot = (first.x - at.x) * (last.x - at.x) + (first.y - at.y) * (last.y - at.y);
    cross < 0.0 || (cross == 0.0 && dot > 0.0)
}

struct Seeing<'a> {
    ways: &'a Ways,
    others: &'a Placed,
    p: Point,
    seen: Straight,
}

impl<'a> Seeing<'a> {
    fn new(ways: &'a Ways, others: &'a Placed, p: Point) -> Self {
        Self { ways, others, p, seen: Straight::default() }
    }

    fn done(mut self) -> Straight {
        for list in [&mut self.seen.nodes, &mut self.seen.points] {
            list.sort_by_key(|&(i, _)| i);
            list.dedup_by_key(|&mut (i, _)| i);
        }
        self.seen
    }

    fn point(&mut self, i: u32) {
        self.seen.points.push((i, self.p.distance(self.others.points[i as usize])));
    }
}

impl Visitor for Seeing<'_> {
    fn start(&mut self, t: u32) {
        for &i in self.others.within(t) {
            self.point(i);
        }
    }

    fn enter(&mut self, t: u32, wedge: Wedge) {
        for &i in self.others.within(t) {
            let q = self.others.points[i as usize];
            if cross_from(self.p, wedge.right, q) >= 0.0 && cross_from(self.p, wedge.left, q) <= 0.0
            {
                self.point(i);
            }
        }
    }

    fn corner(&mut self, _vertex: u32, h: u32) {
        let n = self.ways.node_of[h as usize];
        if n != NONE {
            let node = &self.ways.nodes[n as usize];
            if node.taut(self.p) {
                self.seen.nodes.push((n, self.p.distance(node.at)));
            }
        }
    }
}
