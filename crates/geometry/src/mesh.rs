//! The floor as triangles: which edges stop sight, which stop steps, and how the floor lies around each vertex.

use crate::arrangement::{Arrangement, Fault, NONE, OnEdge, Shape};
use crate::clean::Grid;
use crate::locate::Buckets;
use crate::point::{Point, cross_from};

/// What an edge between two pieces of floor stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Border {
    /// Nothing.
    Open,
    /// Sight and steps.
    Wall,
    /// Sight only: a closed door that people open.
    Door,
    /// Steps only: a window, a low barrier.
    Window,
}

/// Entering a triangle through a half-edge: its far corner and the half-edges beyond.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Enter {
    pub(crate) apex: Point,
    pub(crate) apex_index: u32,
    /// The half-edge in the triangle on the right (from the entry's end to the apex), or WALL.
    pub(crate) right: u32,
    /// The half-edge in the triangle on the left (from the apex to the entry's start), or WALL.
    pub(crate) left: u32,
}

/// The other side of an edge that cannot be passed.
pub(crate) const WALL: u32 = u32::MAX;

/// The floor. Half-edge `3t + i` runs from corner `i` to corner `i + 1` of triangle `t`, which lies to its left.
#[derive(Debug, Clone)]
pub struct Mesh {
    /// Vertices.
    pub points: Vec<Point>,
    /// Corners of the floor's triangles, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// The caller's piece of floor that each triangle belongs to.
    pub piece: Vec<u32>,
    /// What each half-edge stops.
    pub borders: Vec<Border>,
    /// The floor half-edge on the other side, whatever stands between, or none at the floor's edge.
    pub(crate) twins: Vec<u32>,
    pub(crate) sight: Vec<Enter>,
    pub(crate) sight_twins: Vec<u32>,
    pub(crate) steps: Vec<Enter>,
    pub(crate) step_twins: Vec<u32>,
    /// Half-edges leaving each vertex.
    pub(crate) leaving_starts: Vec<u32>,
    pub(crate) leaving: Vec<u32>,
    pub(crate) buckets: Buckets,
    /// The floor's area.
    pub area: f64,
}

impl Mesh {
    /// A floor out of an arrangement. `piece` says for the shapes a component lies in which piece of floor it is, if
    /// any; `border` says what an edge with something drawn on it stops between two pieces.
    pub fn new(
        arrangement: &Arrangement,
        piece: impl Fn(&[u32]) -> Option<u32>,
        border: impl Fn(&OnEdge, u32, u32) -> Border,
    ) -> Result<Self, Fault> {
        let pieces: Vec<Option<u32>> =
            arrangement.inside.iter().map(|inside| piece(inside)).collect();
        let mut number = vec![NONE; arrangement.triangles.len()];
        let mut kept = Vec::new();
        for (t, &component) in arrangement.component.iter().enumerate() {
            if pieces[component as usize].is_some() {
                number[t] = kept.len() as u32;
                kept.push(t);
            }
        }
        if kept.is_empty() {
            return Err(Fault::Empty);
        }
        let triangles: Vec<[u32; 3]> = kept.iter().map(|&t| arrangement.triangles[t]).collect();
        let piece: Vec<u32> = kept
            .iter()
            .map(|&t| pieces[arrangement.component[t] as usize].unwrap_or(NONE))
            .collect();
        let area = kept.iter().map(|&t| arrangement.area(t)).sum();
        let (mut twins, mut borders) =
            (vec![WALL; kept.len() * 3], vec![Border::Wall; kept.len() * 3]);
        for h in 0..twins.len() {
            let old = 3 * kept[h / 3] + h % 3;
            let twin = arrangement.twins[old];
            if twin == NONE || number[twin as usize / 3] == NONE {
                continue;
            }
            twins[h] = 3 * number[twin as usize / 3] + twin % 3;
            borders[h] = match arrangement.drawn_on(old) {
                None => Border::Open,
                Some(on) => border(on, piece[h / 3], piece[twins[h] as usize / 3]),
            };
        }
        Ok(Self::assemble(arrangement.points.clone(), triangles, piece, twins, borders, area))
    }

    /// The floor inside a shape: its outer ring less its holes, whatever the direction of the rings.
    pub fn of_shape(border: &[Point], holes: &[Vec<Point>], grid: Grid) -> Result<Self, Fault> {
        let rings = std::iter::once(border.to_vec()).chain(holes.iter().cloned());
        let shapes: Vec<Shape> = rings.map(|ring| Shape { rings: vec![ring] }).collect();
        let arrangement = Arrangement::new(&shapes, &[], grid)?;
        Self::new(&arrangement, |inside| (inside == [0]).then_some(0), |_, _, _| Border::Open)
    }

    fn assemble(
        points: Vec<Point>,
        triangles: Vec<[u32; 3]>,
        piece: Vec<u32>,
        twins: Vec<u32>,
        borders: Vec<Border>,
        area: f64,
    ) -> Self {
        let passing = |stops: fn(Border) -> bool| -> Vec<u32> {
            (0..twins.len()).map(|h| if stops(borders[h]) { WALL } else { twins[h] }).collect()
        };
        let sight_twins = passing(|border| matches!(border, Border::Wall | Border::Door));
        let step_twins =
            passing(|border| matches!(border, Border::Wall | Border::Door | Border::Window));
        let sight = entering(&points, &triangles, &sight_twins);
        let steps = entering(&points, &triangles, &step_twins);
        let (leaving_starts, leaving) = leaving(&triangles, points.len());
        let buckets = Buckets::new(&points, &triangles);
        Self {
            points,
            triangles,
            piece,
            borders,
            twins,
            sight,
            sight_twins,
            steps,
            step_twins,
            leaving_starts,
            leaving,
            buckets,
            area,
        }
    }

    /// The corners of a triangle.
    pub fn corners(&self, t: usize) -> [Point; 3] {
        self.triangles[t].map(|v| self.points[v as usize])
    }

    /// The middle of a triangle.
    pub fn middle(&self, t: usize) -> Point {
        let [a, b, c] = self.corners(t);
        Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
    }

    /// The area of a triangle.
    pub fn triangle_area(&self, t: usize) -> f64 {
        let [a, b, c] = self.corners(t);
        0.5 * ((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x))
    }

    /// From and to of a half-edge, as vertex numbers.
    pub fn ends(&self, h: usize) -> (u32, u32) {
        (self.triangles[h / 3][h % 3], self.triangles[h / 3][(h + 1) % 3])
    }

    /// The floor triangles that have this vertex as a corner.
    pub fn triangles_at(&self, vertex: u32) -> impl Iterator<Item = u32> {
        self.leaving(vertex).iter().map(|h| h / 3)
    }

    /// A floor triangle that has this vertex as a corner.
    pub fn triangle_at(&self, vertex: u32) -> Option<u32> {
        self.leaving(vertex).first().map(|h| h / 3)
    }

    /// The vertex of the floor nearest to a place.
    pub fn nearest_vertex(&self, p: Point) -> Option<u32> {
        let on_floor = (0..self.points.len() as u32).filter(|&v| !self.leaving(v).is_empty());
        on_floor.min_by(|&a, &b| {
            p.distance2(self.points[a as usize]).total_cmp(&p.distance2(self.points[b as usize]))
        })
    }

    /// For each triangle the number of the part of the floor it lies in; steps pass freely inside a part.
    pub fn parts(&self) -> Vec<u32> {
        let mut parts = vec![WALL; self.triangles.len()];
        let mut count = 0;
        for start in 0..parts.len() {
            if parts[start] != WALL {
                continue;
            }
            parts[start] = count;
            let mut stack = vec![start];
            while let Some(t) = stack.pop() {
                for h in 3 * t..3 * t + 3 {
                    let twin = self.step_twins[h];
                    if twin != WALL && parts[twin as usize / 3] == WALL {
                        parts[twin as usize / 3] = count;
                        stack.push(twin as usize / 3);
                    }
                }
            }
            count += 1;
        }
        parts
    }

    /// Half-edges of floor triangles that leave a vertex.
    pub(crate) fn leaving(&self, vertex: u32) -> &[u32] {
        let from = self.leaving_starts[vertex as usize] as usize;
        &self.leaving[from..self.leaving_starts[vertex as usize + 1] as usize]
    }

    /// Triangles around a vertex, gathered into fans that nothing divides, each counter-clockwise; a fan is given by
    /// the half-edges that leave the vertex in its triangles. `twins` says what divides.
    pub(crate) fn fans(&self, vertex: u32, twins: &[u32]) -> Vec<Fan> {
        let mut all: Vec<u32> = self.leaving(vertex).to_vec();
        all.sort_unstable();
        let mut fans = Vec::new();
        // A fan begins at a half-edge that cannot be passed clockwise; else it goes all the way round.
        let begins = |h: u32| twins[h as usize] == WALL;
        for &start in all.iter().filter(|&&h| begins(h)) {
            fans.push(Fan { edges: self.fan_from(start, twins, start), round: false });
        }
        while let Some(&start) =
            all.iter().find(|h| !fans.iter().any(|fan: &Fan| fan.edges.contains(h)))
        {
            fans.push(Fan { edges: self.fan_from(start, twins, start), round: true });
        }
        fans
    }

    fn fan_from(&self, start: u32, twins: &[u32], stop: u32) -> Vec<u32> {
        let mut edges = vec![start];
        let mut h = start;
        loop {
            let incoming = previous(h);
            let next = twins[incoming as usize];
            if next == WALL || next == stop {
                return edges;
            }
            edges.push(next);
            h = next;
        }
    }
}

/// Triangles around a vertex that nothing divides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fan {
    /// Half-edges leaving the vertex, counter-clockwise.
    pub(crate) edges: Vec<u32>,
    /// It goes all the way round.
    pub(crate) round: bool,
}

/// The next half-edge of the same triangle.
#[inline]
pub(crate) fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

/// The half-edge before in the same triangle.
#[inline]
pub(crate) fn previous(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

fn entering(points: &[Point], triangles: &[[u32; 3]], twins: &[u32]) -> Vec<Enter> {
    (0..twins.len() as u32)
        .map(|h| {
            let apex_index = triangles[h as usize / 3][(h as usize + 2) % 3];
            Enter {
                apex: points[apex_index as usize],
                apex_index,
                right: twins[next(h) as usize],
                left: twins[previous(h) as usize],
            }
        })
        .collect()
}

fn leaving(triangles: &[[u32; 3]], vertex_count: usize) -> (Vec<u32>, Vec<u32>) {
    let mut starts = vec![0u32; vertex_count + 1];
    triangles.iter().flatten().for_each(|&v| starts[v as usize + 1] += 1);
    for v in 0..vertex_count {
        starts[v + 1] += starts[v];
    }
    let mut next = starts.clone();
    let mut out = vec![0u32; triangles.len() * 3];
    for h in 0..out.len() {
        let v = triangles[h / 3][h % 3] as usize;
        out[next[v] as usize] = h as u32;
        next[v] += 1;
    }
    (starts, out)
}

/// Whether `p` lies in the closed triangle; exact.
pub(crate) fn in_triangle([a, b, c]: [Point; 3], p: Point) -> bool {
    cross_from(p, a, b) >= 0.0 && cross_from(p, b, c) >= 0.0 && cross_from(p, c, a) >= 0.0
}
