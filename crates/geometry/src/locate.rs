//! Which triangle a place lies in: square buckets that list the triangles passing through them, then exact tests
//! (M. Edahiro, I. Kokubo, T. Asano, *A new point-location algorithm and its practical efficiency*, 1984).

use crate::mesh::{Mesh, in_triangle};
use crate::point::{Point, cross_from};

/// Where a place lies on the floor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Location {
    /// Inside a triangle.
    Inside(u32),
    /// On a half-edge, not at its ends.
    Edge(u32),
    /// On a vertex.
    Vertex(u32),
    /// Not on the floor.
    Outside,
}

#[derive(Debug, Clone, Default)]
pub(crate) struct Buckets {
    origin: Point,
    size: f64,
    columns: usize,
    rows: usize,
    starts: Vec<u32>,
    entries: Vec<u32>,
}

impl Buckets {
    pub(crate) fn new(points: &[Point], triangles: &[[u32; 3]]) -> Self {
        let used = || triangles.iter().flatten().map(|&v| points[v as usize]);
        let (mut lo, mut hi) =
            (Point::new(f64::INFINITY, f64::INFINITY), Point::new(-f64::INFINITY, -f64::INFINITY));
        for p in used() {
            lo = Point::new(lo.x.min(p.x), lo.y.min(p.y));
            hi = Point::new(hi.x.max(p.x), hi.y.max(p.y));
        }
        let (w, h) = ((hi.x - lo.x).max(1e-300), (hi.y - lo.y).max(1e-300));
        let size = libm::sqrt(w * h / (2.0 * triangles.len() as f64))
            .max(w / 4e3)
            .max(h / 4e3)
            .max(1e-300);
        let (columns, rows) = ((w / size) as usize + 1, (h / size) as usize + 1);
        let mut buckets = Self {
            origin: lo,
            size,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            entries: Vec::new(),
        };
        let mut cells = Vec::new();
        for (t, corners) in triangles.iter().enumerate() {
            buckets.passed(corners.map(|v| points[v as usize]), |cell| {
                cells.push((cell as u32, t as u32))
            });
        }
        cells.iter().for_each(|&(cell, _)| buckets.starts[cell as usize + 1] += 1);
        for cell in 0..columns * rows {
            buckets.starts[cell + 1] += buckets.starts[cell];
        }
        let mut next = buckets.starts.clone();
        buckets.entries = vec![0; cells.len()];
        for (cell, t) in cells {
            buckets.entries[next[cell as usize] as usize] = t;
            next[cell as usize] += 1;
        }
        buckets
    }

    /// The cells a triangle passes, row by row, with a little margin.
    fn passed(&self, corners: [Point; 3], mut visit: impl FnMut(usize)) {
        let pad = self.size * 1e-6;
        let (lo, hi) = (
            corners.iter().map(|p| p.y).fold(f64::INFINITY, f64::min),
            corners.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max),
        );
        for row in self.row(lo - pad)..=self.row(hi + pad) {
            let (y0, y1) = (
                self.origin.y + row as f64 * self.size - pad,
                self.origin.y + (row + 1) as f64 * self.size + pad,
            );
            let (mut x0, mut x1) = (f64::INFINITY, f64::NEG_INFINITY);
            for i in 0..3 {
                let (a, b) = (corners[i], corners[(i + 1) % 3]);
                let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
                if b.y < y0 || a.y > y1 {
                    continue;
                }
                for y in [y0.clamp(a.y, b.y), y1.clamp(a.y, b.y)] {
                    let x =
                        if b.y > a.y { a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y) } else { a.x };
                    x0 = x0.min(x);
                    x1 = x1.max(x);
                }
                if a.y == b.y {
                    x0 = x0.min(b.x);
                    x1 = x1.max(b.x);
                }
            }
            if x0 <= x1 {
                (self.column(x0 - pad)..=self.column(x1 + pad))
                    .for_each(|column| visit(row * self.columns + column));
            }
        }
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.origin.y) / self.size).max(0.0) as usize).min(self.rows - 1)
    }

    fn column(&self, x: f64) -> usize {
        (((x - self.origin.x) / self.size).max(0.0) as usize).min(self.columns - 1)
    }

    fn at(&self, p: Point) -> &[u32] {
        let cell = self.row(p.y) * self.columns + self.column(p.x);
        &self.entries[self.starts[cell] as usize..self.starts[cell + 1] as usize]
    }
}

impl Mesh {
    /// Where `p` lies on the floor; exact. A place that is no number lies outside.
    pub fn locate(&self, p: Point) -> Location {
        if !(p.x.is_finite() && p.y.is_finite()) {
            return Location::Outside;
        }
        let found = self.buckets.at(p).iter().find(|&&t| in_triangle(self.corners(t as usize), p));
        let Some(&t) = found else { return Location::Outside };
        let corners = self.corners(t as usize);
        if let Some(i) = (0..3).find(|&i| corners[i] == p) {
            return Location::Vertex(self.triangles[t as usize][i]);
        }
        match (0..3).find(|&i| cross_from(p, corners[i], corners[(i + 1) % 3]) == 0.0) {
            Some(i) => Location::Edge(3 * t + i as u32),
            None => Location::Inside(t),
        }
    }
}
