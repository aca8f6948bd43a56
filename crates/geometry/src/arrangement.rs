//! Shapes and lines laid over each other: a constrained Delaunay triangulation (by the crate `spade`), its triangles
//! gathered into components that no border divides, and for each component the shapes it lies in.

use crate::clean::{Changes, Grid, clean};
use crate::point::{Point, Turn, orient, turn};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

/// An area: rings in any direction; a place is inside when it is inside an odd number of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shape {
    /// Rings, not closed by a repeated point.
    pub rings: Vec<Vec<Point>>,
}

/// A line that stands in the arrangement on its own: a wall, a door. Its number is its place in the list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// From.
    pub a: Point,
    /// To.
    pub b: Point,
}

/// Why there is no arrangement.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Fault {
    /// A coordinate that is no number or beyond ±1e15.
    #[error(
        "a coordinate ({x}, {y}) is no usable number: check the unit and the source of this shape"
    )]
    Number {
        /// As given.
        x: f64,
        /// As given.
        y: f64,
    },
    /// Nothing encloses an area.
    #[error("nothing here encloses an area: draw at least one ring with three corners")]
    Empty,
    /// Splitting did not come to an end.
    #[error("the lines cross each other again however often they are split: use a coarser grid")]
    Unsettled,
    /// The triangulation refused the input.
    #[error("the triangulation refused the input: {0}")]
    Refused(String),
}

/// What lies on an edge of the triangulation.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OnEdge {
    /// Shapes whose border it is, as given, ascending.
    pub borders: Vec<u32>,
    /// Lines it is part of, ascending.
    pub lines: Vec<u32>,
}

/// Triangles with their neighbours, components and what is drawn on their edges. Half-edge `3t + i` runs from corner
/// `i` to corner `i + 1` of triangle `t`, which lies to its left.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// Vertices.
    pub points: Vec<Point>,
    /// Corners, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// The half-edge on the other side, or [`NONE`].
    pub twins: Vec<u32>,
    /// What lies on a half-edge: index into `drawn`, or [`NONE`].
    pub on: Vec<u32>,
    /// What lies on edges.
    pub drawn: Vec<OnEdge>,
    /// The component of each triangle.
    pub component: Vec<u32>,
    /// The shapes each component lies in, ascending.
    pub inside: Vec<Vec<u32>>,
    /// What cleaning changed.
    pub changes: Changes,
}

/// No half-edge, no drawing.
pub const NONE: u32 = u32::MAX;

const COORDINATE_MAX: f64 = 1e15;

impl Arrangement {
    /// Lays shapes and lines over each other on `grid`.
    pub fn new(shapes: &[Shape], lines: &[Line], grid: Grid) -> Result<Self, Fault> {
        let shape_count = shapes.len() as u32;
        let mut segments = Vec::new();
        for (s, shape) in shapes.iter().enumerate() {
            for ring in &shape.rings {
                for (i, &a) in ring.iter().enumerate() {
                    segments.push((a, ring[(i + 1) % ring.len()], s as u32));
                }
            }
        }
        segments.extend(
            lines.iter().enumerate().map(|(l, line)| (line.a, line.b, shape_count + l as u32)),
        );
        let usable = |p: Point| p.x.abs() <= COORDINATE_MAX && p.y.abs() <= COORDINATE_MAX;
        if let Some(p) = segments.iter().flat_map(|&(a, b, _)| [a, b]).find(|p| !usable(*p)) {
            return Err(Fault::Number { x: p.x, y: p.y });
        }
        let cleaned = clean(&segments, grid);
        if !cleaned.settled {
            return Err(Fault::Unsettled);
        }
        let mut out = Self::triangulated(&cleaned.points, &cleaned.segments, shape_count)?;
        out.changes = cleaned.changes;
        out.components();
        out.inside = out.memberships(shapes, grid);
        Ok(out)
    }

    fn triangulated(
        points: &[Point],
        segments: &[crate::clean::Segment],
        shape_count: u32,
    ) -> Result<Self, Fault> {
        let (points, renumbered) = in_order(points, segments);
        if points.len() < 3 {
            return Err(Fault::Empty);
        }
        let (edges, drawn) = drawn_edges(segments, &renumbered, shape_count);
        let vertices = points.iter().map(|p| Point2::new(p.x, p.y)).collect();
        let mut refused = 0;
        let cdt = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(
            vertices,
            edges.iter().map(|&(a, b)| [a as usize, b as usize]).collect(),
            |_| refused += 1,
        )
        .map_err(|error| Fault::Refused(error.to_string()))?;
        if refused > 0 || cdt.num_vertices() != points.len() {
            return Err(Fault::Refused(format!("{refused} edges cross others")));
        }
        let mut triangles: Vec<[u32; 3]> =
            cdt.inner_faces().map(|face| face.vertices().map(|v| v.fix().index() as u32)).collect();
        if triangles.is_empty() {
            return Err(Fault::Empty);
        }
        for corners in &mut triangles {
            let least = (0..3).min_by_key(|&i| corners[i]).unwrap_or(0);
            corners.rotate_left(least);
        }
        triangles.sort_unstable();
        let twins = twins(&triangles, points.len());
        // Edges by their smaller vertex, so that one is sought among a handful.
        let starts: Vec<usize> =
            (0..=points.len() as u32).map(|v| edges.partition_point(|edge| edge.0 < v)).collect();
        let mut on = vec![NONE; triangles.len() * 3];
        for h in 0..on.len() {
            let (a, b) = (triangles[h / 3][h % 3], triangles[h / 3][(h + 1) % 3]);
            // Most edges of a plan are drawn on one side only; the other half-edge copies.
            if twins[h] == NONE || h < twins[h] as usize {
                let (a, b) = (a.min(b), a.max(b));
                let (from, to) = (starts[a as usize], starts[a as usize + 1]);
                let found = edges[from..to].iter().position(|edge| edge.1 == b);
                on[h] = found.map_or(NONE, |at| (from + at) as u32);
                if twins[h] != NONE {
                    on[twins[h] as usize] = on[h];
                }
            }
        }
        let component = vec![NONE; triangles.len()];
        let changes = Changes::default();
        Ok(Self { points, triangles, twins, on, drawn, component, inside: Vec::new(), changes })
    }

    /// Gathers triangles that no drawn edge divides.
    fn components(&mut self) {
        let mut count = 0;
        for start in 0..self.triangles.len() {
            if self.component[start] != NONE {
                continue;
            }
            self.component[start] = count;
            let mut stack = vec![start];
            while let Some(t) = stack.pop() {
                for h in 3 * t..3 * t + 3 {
                    let twin = self.twins[h];
                    if twin != NONE
                        && self.on[h] == NONE
                        && self.component[twin as usize / 3] == NONE
                    {
                        self.component[twin as usize / 3] = count;
                        stack.push(twin as usize / 3);
                    }
                }
            }
            count += 1;
        }
    }

    /// Asks each shape about the middle of each component's largest triangle.
    fn memberships(&self, shapes: &[Shape], grid: Grid) -> Vec<Vec<u32>> {
        let count = self.component.iter().max().map_or(0, |&c| c as usize + 1);
        let mut largest = vec![(-1.0, Point::default()); count];
        for (t, &c) in self.component.iter().enumerate() {
            let [a, b, d] = self.corners(t);
            let area = orient(a, b, d);
            if area > largest[c as usize].0 {
                largest[c as usize] =
                    (area, Point::new((a.x + b.x + d.x) / 3.0, (a.y + b.y + d.y) / 3.0));
            }
        }
        // Places from below to above: an edge is asked only about those at its height.
        let mut by_height: Vec<u32> = (0..count as u32).collect();
        let place = |c: u32| largest[c as usize].1;
        by_height.sort_by(|&c, &d| place(c).y.total_cmp(&place(d).y).then(c.cmp(&d)));
        let mut inside = vec![Vec::new(); count];
        let mut odd = vec![false; count];
        for (s, shape) in shapes.iter().enumerate() {
            odd.fill(false);
            for ring in &shape.rings {
                let Some(mut a) = ring.last().map(|&p| grid.snap(p)) else { continue };
                for b in ring.iter().map(|&p| grid.snap(p)) {
                    let (low, high) = (a.y.min(b.y), a.y.max(b.y));
                    let from = by_height.partition_point(|&c| place(c).y < low);
                    let at_height = by_height[from..].iter().take_while(|&&c| place(c).y < high);
                    for &c in at_height {
                        odd[c as usize] ^= (turn(a, b, place(c)) == Turn::Left) == (b.y > a.y);
                    }
                    a = b;
                }
            }
            let holds = (0..count).filter(|&c| odd[c]);
            holds.for_each(|c| inside[c].push(s as u32));
        }
        inside
    }

    /// The half-edges around some components, those components on their left, linked to closed rings.
    pub fn outline(&self, belongs: impl Fn(u32) -> bool) -> Vec<Vec<u32>> {
        let inner = |h: u32| belongs(self.component[h as usize / 3]);
        let border = |h: u32| {
            let twin = self.twins[h as usize];
            inner(h) && (twin == NONE || !inner(twin))
        };
        let mut open: Vec<bool> = (0..self.twins.len() as u32).map(border).collect();
        let mut rings = Vec::new();
        for start in 0..open.len() as u32 {
            if !open[start as usize] {
                continue;
            }
            let (mut ring, mut h) = (Vec::new(), start);
            loop {
                open[h as usize] = false;
                ring.push(h);
                // On to the next border half-edge around this one's end, keeping the components on the left.
                let mut next = crate::mesh::next(h);
                while !border(next) {
                    next = crate::mesh::next(self.twins[next as usize]);
                }
                if next == start || !open[next as usize] {
                    break;
                }
                h = next;
            }
            rings.push(ring);
        }
        rings
    }

    /// The place where a half-edge begins.
    pub fn origin(&self, h: u32) -> Point {
        self.points[self.triangles[h as usize / 3][h as usize % 3] as usize]
    }

    /// The corners of a triangle.
    pub fn corners(&self, t: usize) -> [Point; 3] {
        self.triangles[t].map(|v| self.points[v as usize])
    }

    /// The area of a triangle.
    pub fn area(&self, t: usize) -> f64 {
        let [a, b, c] = self.corners(t);
        0.5 * ((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x))
    }

    /// What is drawn on a half-edge.
    pub fn drawn_on(&self, h: usize) -> Option<&OnEdge> {
        self.drawn.get(self.on[h] as usize)
    }
}

fn bounds(points: impl Iterator<Item = Point>) -> Option<(Point, Point)> {
    points.fold(None, |so_far: Option<(Point, Point)>, p| {
        let (lo, hi) = so_far.unwrap_or((p, p));
        Some((Point::new(lo.x.min(p.x), lo.y.min(p.y)), Point::new(hi.x.max(p.x), hi.y.max(p.y))))
    })
}

/// The vertices that segments use, renumbered along a Hilbert curve so that near ones lie near in memory.
fn in_order(points: &[Point], segments: &[crate::clean::Segment]) -> (Vec<Point>, Vec<u32>) {
    let mut used = vec![false; points.len()];
    for segment in segments {
        used[segment.a as usize] = true;
        used[segment.b as usize] = true;
    }
    let Some((lo, hi)) = bounds(points.iter().copied()) else { return (Vec::new(), Vec::new()) };
    let scale = 65_535.0 / (hi.x - lo.x).max(hi.y - lo.y).max(1e-300);
    let key = |p: Point| hilbert(((p.x - lo.x) * scale) as u32, ((p.y - lo.y) * scale) as u32);
    let mut order: Vec<(u64, u32)> =
        (0..points.len()).filter(|&i| used[i]).map(|i| (key(points[i]), i as u32)).collect();
    order.sort_unstable();
    let mut renumbered = vec![NONE; points.len()];
    for (new, &(_, old)) in order.iter().enumerate() {
        renumbered[old as usize] = new as u32;
    }
    (order.iter().map(|&(_, old)| points[old as usize]).collect(), renumbered)
}

/// Distance along a Hilbert curve over 2¹⁶ × 2¹⁶ cells (D. Hilbert, 1891).
fn hilbert(mut x: u32, mut y: u32) -> u64 {
    let mut d = 0;
    let mut s = 1u32 << 15;
    while s > 0 {
        let (rx, ry) = (u32::from(x & s > 0), u32::from(y & s > 0));
        d += u64::from(s) * u64::from(s) * u64::from((3 * rx) ^ ry);
        if ry == 0 {
            if rx == 1 {
                x = 65_535 - x;
                y = 65_535 - y;
            }
            std::mem::swap(&mut x, &mut y);
        }
        s >>= 1;
    }
    d
}

/// The edges with something drawn on them, ascending, smaller vertex first, and what it is.
fn drawn_edges(
    segments: &[crate::clean::Segment],
    renumbered: &[u32],
    shape_count: u32,
) -> (Vec<(u32, u32)>, Vec<OnEdge>) {
    let mut marked: Vec<((u32, u32), u32)> = (segments.iter())
        .map(|segment| {
            let (a, b) = (renumbered[segment.a as usize], renumbered[segment.b as usize]);
            ((a.min(b), a.max(b)), segment.mark)
        })
        .collect();
    marked.sort_unstable();
    let (mut edges, mut drawn) = (Vec::new(), Vec::<OnEdge>::new());
    for (edge, mark) in marked {
        if edges.last() != Some(&edge) {
            edges.push(edge);
            drawn.push(OnEdge::default());
        }
        if let Some(on) = drawn.last_mut() {
            if mark < shape_count {
                on.borders.push(mark);
            } else {
                on.lines.push(mark - shape_count);
            }
        }
    }
    (edges, drawn)
}

/// For each half-edge the one on the other side.
fn twins(triangles: &[[u32; 3]], vertex_count: usize) -> Vec<u32> {
    // Half-edges by their first vertex, so that a twin is sought among a handful.
    let mut starts = vec![0u32; vertex_count + 1];
    triangles.iter().flatten().for_each(|&v| starts[v as usize + 1] += 1);
    for v in 0..vertex_count {
        starts[v + 1] += starts[v];
    }
    let mut next = starts.clone();
    let mut leaving = vec![0u32; triangles.len() * 3];
    for h in 0..leaving.len() {
        let v = triangles[h / 3][h % 3] as usize;
        leaving[next[v] as usize] = h as u32;
        next[v] += 1;
    }
    (0..triangles.len() * 3)
        .map(|h| {
            let (a, b) = (triangles[h / 3][h % 3], triangles[h / 3][(h + 1) % 3]);
            let from_b = &leaving[starts[b as usize] as usize..starts[b as usize + 1] as usize];
            let twin =
                from_b.iter().find(|&&g| triangles[g as usize / 3][(g as usize + 1) % 3] == a);
            twin.copied().unwrap_or(NONE)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn square(x: f64, y: f64, size: f64) -> Shape {
        let corner = |i: f64, j: f64| Point::new(x + i * size, y + j * size);
        Shape {
            rings: vec![vec![
                corner(0.0, 0.0),
                corner(1.0, 0.0),
                corner(1.0, 1.0),
                corner(0.0, 1.0),
            ]],
        }
    }

    fn areas(arrangement: &Arrangement) -> BTreeMap<Vec<u32>, f64> {
        let mut areas = BTreeMap::new();
        for t in 0..arrangement.triangles.len() {
            let inside = arrangement.inside[arrangement.component[t] as usize].clone();
            *areas.entry(inside).or_insert(0.0) += arrangement.area(t);
        }
        areas
    }

    #[test]
    fn overlapping_squares_give_three_kinds_of_floor() {
        let shapes = [square(0.0, 0.0, 10.0), square(5.0, 5.0, 10.0)];
        let arrangement = Arrangement::new(&shapes, &[], Grid::whole(0.0)).expect("two squares");
        let areas = areas(&arrangement);
        assert_eq!(areas[&vec![0]], 75.0);
        assert_eq!(areas[&vec![1]], 75.0);
        assert_eq!(areas[&vec![0, 1]], 25.0);
    }

    #[test]
    fn unusable_input_is_named() {
        let fault =
            |shape: Shape| Arrangement::new(&[shape], &[], Grid::whole(0.0)).expect_err("unusable");
        assert_eq!(fault(Shape::default()), Fault::Empty);
        assert!(matches!(fault(square(f64::NAN, 0.0, 1.0)), Fault::Number { .. }));
        assert!(matches!(fault(square(1e300, 0.0, 1.0)), Fault::Number { .. }));
        assert_eq!(
            fault(Shape { rings: vec![vec![Point::new(0.0, 0.0), Point::new(5.0, 0.0)]] }),
            Fault::Empty
        );
    }

    #[test]
    fn neighbours_on_the_curve_are_neighbours_in_the_plane() {
        let mut cells: Vec<(u64, (u32, u32))> =
            (0..8).flat_map(|x| (0..8).map(move |y| (hilbert(x << 13, y << 13), (x, y)))).collect();
        cells.sort_unstable();
        for pair in cells.windows(2) {
            let ((ax, ay), (bx, by)) = (pair[0].1, pair[1].1);
            assert_eq!(ax.abs_diff(bx) + ay.abs_diff(by), 1, "{cells:?}");
        }
    }
}
