//! Segments that no longer cross: snapping to a grid, merging near vertices, splitting at every meeting, again and
//! again until nothing is left to do (iterated snap rounding, after D. Halperin and E. Packer, *Iterated snap
//! rounding*, 2002).

use crate::point::{Point, orient, segment_distance2};
use std::collections::BTreeMap;

/// The grid that coordinates are snapped to: a power of two, so that grid points are exact in `f64`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Distance between grid lines, in the caller's unit.
    pub step: f64,
    /// Vertices nearer than this to each other or to a segment become one with it, in the caller's unit.
    pub merge: f64,
}

impl Grid {
    /// Whole units, and things within `merge` units are one: for millimetres.
    pub fn whole(merge: f64) -> Self {
        Self { step: 1.0, merge }
    }

    /// The finest grid that holds `extent` with 2⁴² lines: relative error 2⁻⁴³, nothing merged but equal vertices.
    pub fn fine(extent: f64) -> Self {
        let (_, exponent) = libm::frexp(extent.abs().max(f64::MIN_POSITIVE * 1e64));
        Self { step: libm::ldexp(1.0, exponent - 42), merge: 0.0 }
    }

    /// The nearest grid point.
    pub fn snap(self, p: Point) -> Point {
        Point::new(
            libm::round(p.x / self.step) * self.step,
            libm::round(p.y / self.step) * self.step,
        )
    }
}

/// What cleaning changed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Changes {
    /// Vertices that became one with another.
    pub merged_vertices: usize,
    /// Segments left without length.
    pub vanished: usize,
    /// Pairs of segments that crossed, and were split there.
    pub crossings: usize,
    /// Vertices that touched another segment, which was split there.
    pub touches: usize,
    /// Segments that lay on another one.
    pub doubled: usize,
}

/// A segment between two vertices with the caller's mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Segment {
    /// Smaller vertex index.
    pub a: u32,
    /// Larger vertex index.
    pub b: u32,
    /// The caller's mark.
    pub mark: u32,
}

/// Vertices and segments that meet only in vertices. A segment stands once for each of its marks.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Clean {
    /// Distinct vertices on the grid.
    pub points: Vec<Point>,
    /// Sorted, no duplicates.
    pub segments: Vec<Segment>,
    /// What was changed.
    pub changes: Changes,
    /// Whether a fixed point was reached; false only after [`ROUNDS_MAX`] rounds.
    pub settled: bool,
}

/// After this many rounds of splitting the input is given up as hostile.
pub const ROUNDS_MAX: usize = 24;

/// Cleans segments given by their end points. Coordinates must be finite. O((n + k) log n) a round for n segments
/// of similar length and k meetings.
pub fn clean(input: &[(Point, Point, u32)], grid: Grid) -> Clean {
    let mut changes = Changes::default();
    let mut vertices = Vertices::new(grid);
    let mut segments = Vec::with_capacity(input.len());
    let mut last: Option<(Point, u32)> = None;
    for &(from, to, mark) in input {
        // Along a ring each segment begins where the one before ended.
        let a = match last {
            Some((known, index)) if known == from => index,
            _ => vertices.index(from),
        };
        let b = vertices.index(to);
        last = Some((to, b));
        if a == b {
            changes.vanished += 1;
        } else {
            segments.push(Segment { a: a.min(b), b: a.max(b), mark });
        }
    }
    changes.merged_vertices = vertices.merged;
    let mut settled = false;
    for _ in 0..ROUNDS_MAX {
        segments.sort_unstable();
        let before = segments.len();
        segments.dedup();
        changes.doubled += before - segments.len();
        let splits = meetings(&vertices.points, &segments, grid, &mut changes);
        if splits.is_empty() {
            settled = true;
            break;
        }
        segments = split(&mut vertices, segments, splits);
    }
    Clean { points: vertices.points, segments, changes, settled }
}

/// Vertices found again by place.
struct Vertices {
    grid: Grid,
    points: Vec<Point>,
    cells: BTreeMap<(i64, i64), u32>,
    near: BTreeMap<(i64, i64), Vec<u32>>,
    merged: usize,
}

impl Vertices {
    fn new(grid: Grid) -> Self {
        Self { grid, points: Vec::new(), cells: BTreeMap::new(), near: BTreeMap::new(), merged: 0 }
    }

    fn index(&mut self, p: Point) -> u32 {
        let p = self.grid.snap(p);
        let key = ((p.x / self.grid.step) as i64, (p.y / self.grid.step) as i64);
        if let Some(&known) = self.cells.get(&key) {
            return known;
        }
        let index = match self.neighbour(p) {
            Some(near) => {
                self.merged += 1;
                near
            }
            None => {
                let index = u32::try_from(self.points.len())
                    .expect("fewer than 2^32 vertices fit in memory");
                self.points.push(p);
                if self.grid.merge > 0.0 {
                    self.near.entry(self.bin(p)).or_default().push(index);
                }
                index
            }
        };
        self.cells.insert(key, index);
        index
    }

    fn bin(&self, p: Point) -> (i64, i64) {
        (libm::floor(p.x / self.grid.merge) as i64, libm::floor(p.y / self.grid.merge) as i64)
    }

    fn neighbour(&self, p: Point) -> Option<u32> {
        if self.grid.merge <= 0.0 {
            return None;
        }
        let (x, y) = self.bin(p);
        let reach2 = self.grid.merge * self.grid.merge;
        let bins = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (x + i, y + j)));
        let near = bins.filter_map(|bin| self.near.get(&bin)).flatten().copied();
        near.filter(|&v| self.points[v as usize].distance2(p) <= reach2).min()
    }
}

/// Where each segment must be split, as (segment, place); places may repeat.
fn meetings(
    points: &[Point],
    segments: &[Segment],
    grid: Grid,
    changes: &mut Changes,
) -> Vec<(u32, Point)> {
    let bins = Bins::new(points, segments, grid.merge);
    let mut splits = Vec::new();
    for (s, one) in segments.iter().enumerate() {
        let (a, b) = (points[one.a as usize], points[one.b as usize]);
        bins.around(a, b, |t| {
            if t as usize <= s {
                return;
            }
            let other = segments[t as usize];
            if one.a == other.a && one.b == other.b {
                return;
            }
            let (c, d) = (points[other.a as usize], points[other.b as usize]);
            if apart(a, b, c, d, grid.merge) {
                return;
            }
            let before = splits.len();
            for (segment, ends, v) in [
                (s as u32, (one, a, b), (other.a, c)),
                (s as u32, (one, a, b), (other.b, d)),
                (t, (&other, c, d), (one.a, a)),
                (t, (&other, c, d), (one.b, b)),
            ] {
                if v.0 != ends.0.a && v.0 != ends.0.b && on_segment(v.1, ends.1, ends.2, grid) {
                    splits.push((segment, v.1));
                    changes.touches += 1;
                }
            }
            let shared =
                one.a == other.a || one.a == other.b || one.b == other.a || one.b == other.b;
            if !shared && splits.len() == before && cross(a, b, c, d) {
                let at = grid.snap(meet(a, b, c, d));
                splits.push((s as u32, at));
                splits.push((t, at));
                changes.crossings += 1;
            }
        });
    }
    splits
}

fn apart(a: Point, b: Point, c: Point, d: Point, merge: f64) -> bool {
    a.x.max(b.x) + merge < c.x.min(d.x)
        || c.x.max(d.x) + merge < a.x.min(b.x)
        || a.y.max(b.y) + merge < c.y.min(d.y)
        || c.y.max(d.y) + merge < a.y.min(b.y)
}

fn on_segment(p: Point, a: Point, b: Point, grid: Grid) -> bool {
    let near = if grid.merge > 0.0 {
        segment_distance2(p, a, b) <= grid.merge * grid.merge
    } else {
        orient(a, b, p) == 0.0
    };
    // Beyond the ends it is another vertex's business.
    let along = (p.x - a.x) * (b.x - a.x) + (p.y - a.y) * (b.y - a.y);
    near && along > 0.0 && along < a.distance2(b)
}

fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    (orient(a, b, c) > 0.0) != (orient(a, b, d) > 0.0)
        && (orient(c, d, a) > 0.0) != (orient(c, d, b) > 0.0)
}

fn meet(a: Point, b: Point, c: Point, d: Point) -> Point {
    let (s, t) = (orient(c, d, a), orient(c, d, b));
    a.toward(b, (s / (s - t)).clamp(0.0, 1.0))
}

fn split(
    vertices: &mut Vertices,
    segments: Vec<Segment>,
    mut splits: Vec<(u32, Point)>,
) -> Vec<Segment> {
    splits
        .sort_by(|x, y| x.0.cmp(&y.0).then(x.1.x.total_cmp(&y.1.x)).then(x.1.y.total_cmp(&y.1.y)));
    let mut out = Vec::with_capacity(segments.len() + splits.len());
    let mut at = 0;
    for (s, segment) in segments.iter().enumerate() {
        let from = at;
        while at < splits.len() && splits[at].0 as usize == s {
            at += 1;
        }
        if from == at {
            out.push(*segment);
            continue;
        }
        let a = vertices.points[segment.a as usize];
        let mut chain: Vec<(f64, u32)> =
            splits[from..at].iter().map(|(_, p)| (a.distance2(*p), vertices.index(*p))).collect();
        chain.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        let mut last = segment.a;
        for next in chain.into_iter().map(|(_, v)| v).chain([segment.b]) {
            if next != last {
                out.push(Segment { a: last.min(next), b: last.max(next), mark: segment.mark });
                last = next;
            }
        }
    }
    out
}

/// Segments by square cell.
struct Bins {
    origin: Point,
    size: f64,
    columns: usize,
    rows: usize,
    starts: Vec<u32>,
    entries: Vec<u32>,
}

impl Bins {
    fn new(points: &[Point], segments: &[Segment], merge: f64) -> Self {
        let (mut lo, mut hi) =
            (Point::new(f64::INFINITY, f64::INFINITY), Point::new(-f64::INFINITY, -f64::INFINITY));
        for p in points {
            lo = Point::new(lo.x.min(p.x), lo.y.min(p.y));
            hi = Point::new(hi.x.max(p.x), hi.y.max(p.y));
        }
        let (w, h) = ((hi.x - lo.x).max(1e-300), (hi.y - lo.y).max(1e-300));
        let count = segments.len().max(1) as f64;
        let size = libm::sqrt(w * h / count).max(w / 2e4).max(h / 2e4).max(4.0 * merge).max(1e-300);
        let (columns, rows) = ((w / size) as usize + 1, (h / size) as usize + 1);
        let mut bins = Self {
            origin: lo,
            size,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            entries: Vec::new(),
        };
        let ends = |s: &Segment| (points[s.a as usize], points[s.b as usize]);
        for segment in segments {
            let (a, b) = ends(segment);
            bins.cells(a, b, merge).for_each(|cell| bins.starts[cell + 1] += 1);
        }
        for cell in 0..columns * rows {
            bins.starts[cell + 1] += bins.starts[cell];
        }
        let mut next = bins.starts.clone();
        bins.entries = vec![0; *bins.starts.last().unwrap_or(&0) as usize];
        for (s, segment) in segments.iter().enumerate() {
            let (a, b) = ends(segment);
            for cell in bins.cells(a, b, merge) {
                bins.entries[next[cell] as usize] = s as u32;
                next[cell] += 1;
            }
        }
        bins
    }

    /// Cells that a segment passes, row by row, widened by `merge`.
    fn cells(&self, a: Point, b: Point, merge: f64) -> impl Iterator<Item = usize> + use<> {
        let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
        let (origin, size, columns, rows) = (self.origin, self.size, self.columns, self.rows);
        let row = move |y: f64| (((y - origin.y) / size).max(0.0) as usize).min(rows - 1);
        let column = move |x: f64| (((x - origin.x) / size).max(0.0) as usize).min(columns - 1);
        let slope = if b.y > a.y { (b.x - a.x) / (b.y - a.y) } else { 0.0 };
        (row(a.y - merge)..=row(b.y + merge)).flat_map(move |r| {
            let (y0, y1) =
                (origin.y + r as f64 * size - merge, origin.y + (r + 1) as f64 * size + merge);
            let (x0, x1) = if b.y > a.y {
                (a.x + slope * (y0.clamp(a.y, b.y) - a.y), a.x + slope * (y1.clamp(a.y, b.y) - a.y))
            } else {
                (a.x, b.x)
            };
            let pad = merge + size * 1e-6;
            let (from, to) = (column(x0.min(x1) - pad), column(x0.max(x1) + pad));
            (from..=to).map(move |c| r * columns + c)
        })
    }

    /// Calls `visit` with each segment that shares a cell with `a b`; the same one may come more than once only when
    /// two cells hold both, so it is sorted out here.
    fn around(&self, a: Point, b: Point, mut visit: impl FnMut(u32)) {
        let mut cells = self.cells(a, b, 0.0);
        let (Some(first), second) = (cells.next(), cells.next()) else { return };
        let of =
            |cell: usize| &self.entries[self.starts[cell] as usize..self.starts[cell + 1] as usize];
        let Some(second) = second else {
            of(first).iter().for_each(|&s| visit(s));
            return;
        };
        let mut all: Vec<u32> = [first, second]
            .into_iter()
            .chain(cells)
            .flat_map(|cell| of(cell).iter().copied())
            .collect();
        all.sort_unstable();
        all.dedup();
        all.into_iter().for_each(visit);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn segment(a: (f64, f64), b: (f64, f64)) -> (Point, Point, u32) {
        (Point::new(a.0, a.1), Point::new(b.0, b.1), 0)
    }

    #[test]
    fn a_cross_is_split_in_four() {
        let clean = clean(
            &[segment((0.0, 0.0), (10.0, 10.0)), segment((0.0, 10.0), (10.0, 0.0))],
            Grid::whole(0.0),
        );
        assert_eq!((clean.points.len(), clean.segments.len(), clean.changes.crossings), (5, 4, 1));
        assert!(clean.settled);
    }

    #[test]
    fn lying_on_each_other_and_touching() {
        let clean = clean(
            &[
                segment((0.0, 0.0), (10.0, 0.0)),
                segment((5.0, 0.0), (15.0, 0.0)),
                segment((3.0, 1.0), (3.0, 9.0)),
            ],
            Grid::whole(1.0),
        );
        // 0-3, 3-5, 5-10, 10-15 and the upright that was pulled onto the line at 3.
        assert_eq!(clean.segments.len(), 5);
        assert!(clean.settled);
    }

    #[test]
    fn no_length_no_segment() {
        let clean = clean(&[segment((1.0, 1.0), (1.2, 1.1))], Grid::whole(0.0));
        assert_eq!((clean.segments.len(), clean.changes.vanished), (0, 1));
    }
}
