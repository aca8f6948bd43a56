//! What is seen from a place: pieces of wall and of the range's circle, in counter-clockwise order. Arcs stay arcs;
//! as a polygon they become chords, so that what is seen is never overstated.

use crate::mesh::Mesh;
use crate::point::{Point, ray_meets};
use crate::sweep::{Scratch, Through, Visitor, Wedge};

/// A piece of a region's outline, from `a` counter-clockwise to `b`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// From.
    pub a: Point,
    /// To.
    pub b: Point,
    /// An arc around the place, not a straight piece.
    pub arc: bool,
}

/// What is seen from `at`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Region {
    /// The place.
    pub at: Point,
    /// The range; infinite for unlimited.
    pub range: f64,
    /// The outline.
    pub pieces: Vec<Piece>,
    /// Before these pieces the view begins anew: the place itself is on the outline there.
    pub gaps: Vec<usize>,
}

impl Mesh {
    /// What is seen from `p` within `range` (infinite for unlimited); none when `p` is not on the floor.
    pub fn region(&self, p: Point, range: f64) -> Option<Region> {
        let mut region = Region::default();
        self.region_into(p, range, &mut Scratch::default(), &mut region).then_some(region)
    }

    /// The same into room that is used again; false when `p` is not on the floor.
    pub fn region_into(
        &self,
        p: Point,
        range: f64,
        scratch: &mut Scratch,
        region: &mut Region,
    ) -> bool {
        region.at = p;
        region.range = range;
        region.pieces.clear();
        region.gaps.clear();
        self.sweep(p, range, Through::Sight, scratch, region)
    }
}

impl Visitor for Region {
    #[inline]
    fn wall(&mut self, _h: u32, right: Point, left: Point, wedge: Wedge) {
        let a =
            if right == wedge.right { right } else { ray_meets(self.at, wedge.right, right, left) };
        let b = if left == wedge.left { left } else { ray_meets(self.at, wedge.left, right, left) };
        if self.range.is_infinite() {
            self.pieces.push(Piece { a, b, arc: false });
        } else {
            self.clipped(a, b);
        }
    }

    fn beyond(&mut self, wedge: Wedge) {
        let (a, b) = (self.on_circle(wedge.right), self.on_circle(wedge.left));
        self.arc(a, b);
    }

    fn gap(&mut self) {
        if self.gaps.last() != Some(&self.pieces.len()) {
            self.gaps.push(self.pieces.len());
        }
    }
}

impl Region {
    /// The area, arcs as arcs, in the square of the caller's unit.
    pub fn area(&self) -> f64 {
        let mut double = 0.0;
        let range2 = self.range * self.range;
        for piece in &self.pieces {
            let (ax, ay) = (piece.a.x - self.at.x, piece.a.y - self.at.y);
            let (bx, by) = (piece.b.x - self.at.x, piece.b.y - self.at.y);
            let cross = ax * by - ay * bx;
            double += if piece.arc { range2 * angle(cross, ax * bx + ay * by) } else { cross };
        }
        0.5 * double
    }

    /// The outline as a polygon inside the region: each arc as chords of at most `step` radians.
    pub fn polygon(&self, step: f64) -> Vec<Point> {
        let mut out: Vec<Point> = Vec::with_capacity(self.pieces.len() * 2);
        let mut push = |p: Point| {
            if out.last() != Some(&p) {
                out.push(p);
            }
        };
        for (i, piece) in self.pieces.iter().enumerate() {
            if self.gaps.contains(&i) && i > 0 {
                push(self.at);
            }
            push(piece.a);
            if piece.arc {
                self.chords(piece, step, &mut push);
            }
            push(piece.b);
        }
        if self.gaps.contains(&self.pieces.len()) || self.gaps.contains(&0) {
            push(self.at);
        }
        if out.len() > 1 && out.first() == out.last() {
            out.pop();
        }
        out
    }

    /// The chords of an arc piece, ends included, each at most `step` radians.
    pub fn chords_of(&self, piece: usize, step: f64) -> Vec<Point> {
        let piece = &self.pieces[piece];
        let mut out = vec![piece.a];
        self.chords(piece, step, &mut |p| out.push(p));
        out.push(piece.b);
        out
    }

    fn chords(&self, piece: &Piece, step: f64, push: &mut impl FnMut(Point)) {
        let (ax, ay) = (piece.a.x - self.at.x, piece.a.y - self.at.y);
        let (bx, by) = (piece.b.x - self.at.x, piece.b.y - self.at.y);
        let whole = angle(ax * by - ay * bx, ax * bx + ay * by);
        let count = libm::ceil(whole / step.max(1e-6)) as usize;
        for k in 1..count {
            let (sin, cos) = libm::sincos(whole * k as f64 / count as f64);
            push(Point::new(self.at.x + ax * cos - ay * sin, self.at.y + ax * sin + ay * cos));
        }
    }

    /// The part of the wall piece `a b` within the range, and arcs for the rest.
    fn clipped(&mut self, a: Point, b: Point) {
        let range2 = self.range * self.range;
        let (a2, b2) = (self.at.distance2(a), self.at.distance2(b));
        if a2 <= range2 && b2 <= range2 {
            self.pieces.push(Piece { a, b, arc: false });
            return;
        }
        let (ux, uy) = (b.x - a.x, b.y - a.y);
        let (vx, vy) = (a.x - self.at.x, a.y - self.at.y);
        let (uu, uv) = (ux * ux + uy * uy, ux * vx + uy * vy);
        let disc = uv * uv - uu * (a2 - range2);
        if disc <= 0.0 || uu == 0.0 {
            let (a, b) = (self.on_circle(a), self.on_circle(b));
            self.arc(a, b);
            return;
        }
        let root = libm::sqrt(disc);
        let (enter, leave) = ((-uv - root) / uu, (-uv + root) / uu);
        if leave <= 0.0 || enter >= 1.0 {
            let (a, b) = (self.on_circle(a), self.on_circle(b));
            self.arc(a, b);
            return;
        }
        let from = if enter > 0.0 { a.toward(b, enter) } else { a };
        let to = if leave < 1.0 { a.toward(b, leave) } else { b };
        if enter > 0.0 {
            let a = self.on_circle(a);
            self.arc(a, from);
        }
        self.pieces.push(Piece { a: from, b: to, arc: false });
        if leave < 1.0 {
            let b = self.on_circle(b);
            self.arc(to, b);
        }
    }

    /// Adds an arc, or lengthens the one before that it goes on from.
    fn arc(&mut self, a: Point, b: Point) {
        let fresh = self.gaps.last() == Some(&self.pieces.len());
        if let Some(last) = self.pieces.last_mut()
            && last.arc
            && last.b == a
            && !fresh
            && turns_less_than_half(self.at, last.a, b)
        {
            last.b = b;
            return;
        }
        self.pieces.push(Piece { a, b, arc: true });
    }

    fn on_circle(&self, toward: Point) -> Point {
        let t = self.range / self.at.distance(toward);
        self.at.toward(toward, t)
    }
}

/// The angle of a turn to the left by its cross and dot product, in radians.
fn angle(cross: f64, dot: f64) -> f64 {
    libm::atan2(cross.max(0.0), dot)
}

fn turns_less_than_half(p: Point, a: Point, b: Point) -> bool {
    (a.x - p.x) * (b.y - p.y) - (a.y - p.y) * (b.x - p.x) > 0.0
}
