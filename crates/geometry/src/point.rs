//! Points, and the one question everything rests on: which way three points turn. Answered exactly
//! (J. R. Shewchuk, *Adaptive precision floating-point arithmetic and fast robust geometric predicates*, 1997).

/// A place in the plane.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

impl Point {
    /// The point at `x`, `y`.
    #[inline]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Straight distance to `other`.
    #[inline]
    pub fn distance(self, other: Point) -> f64 {
        libm::sqrt(self.distance2(other))
    }

    /// Square of the straight distance to `other`.
    #[inline]
    pub fn distance2(self, other: Point) -> f64 {
        let (dx, dy) = (other.x - self.x, other.y - self.y);
        dx * dx + dy * dy
    }

    /// The point `t` of the way to `other`.
    #[inline]
    pub fn toward(self, other: Point, t: f64) -> Point {
        Point::new(self.x + (other.x - self.x) * t, self.y + (other.y - self.y) * t)
    }
}

/// Which way three points turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// Counter-clockwise.
    Left,
    /// They lie on one line.
    Straight,
    /// Clockwise.
    Right,
}

/// Twice the signed area of the triangle `a`, `b`, `c`; its sign is exact.
#[inline]
pub fn orient(a: Point, b: Point, c: Point) -> f64 {
    cross_from(c, a, b)
}

/// Which way `a`, `b`, `c` turn; exact.
#[inline]
pub fn turn(a: Point, b: Point, c: Point) -> Turn {
    let o = orient(a, b, c);
    if o > 0.0 {
        Turn::Left
    } else if o < 0.0 {
        Turn::Right
    } else {
        Turn::Straight
    }
}

/// The cross product of `a − p` and `b − p`; its sign is exact. Positive when `b` lies to the left of the ray `p a`.
#[inline]
pub(crate) fn cross_from(p: Point, a: Point, b: Point) -> f64 {
    let left = (a.x - p.x) * (b.y - p.y);
    let right = (a.y - p.y) * (b.x - p.x);
    let det = left - right;
    // Error bound of the plain evaluation: K. Ozaki et al., doi 10.1007/s10543-015-0574-9.
    if det.abs() > 3.330_669_062_177_372e-16 * (left + right).abs()
        && det.abs() > f64::MIN_POSITIVE * 1e16
    {
        return det;
    }
    let coord = |p: Point| robust::Coord { x: p.x, y: p.y };
    robust::orient2d(coord(a), coord(b), coord(p))
}

/// Distance from `p` to the segment `a b`, squared.
#[inline]
pub(crate) fn segment_distance2(p: Point, a: Point, b: Point) -> f64 {
    let (ux, uy) = (b.x - a.x, b.y - a.y);
    let (vx, vy) = (p.x - a.x, p.y - a.y);
    let along = ux * vx + uy * vy;
    let length2 = ux * ux + uy * uy;
    if along <= 0.0 {
        return vx * vx + vy * vy;
    }
    if along >= length2 {
        return p.distance2(b);
    }
    let cross = ux * vy - uy * vx;
    cross * cross / length2
}

/// Where the ray from `p` through `toward` meets the line `a b`.
#[inline]
pub(crate) fn ray_meets(p: Point, toward: Point, a: Point, b: Point) -> Point {
    let (dx, dy) = (toward.x - p.x, toward.y - p.y);
    let ca = dx * (a.y - p.y) - dy * (a.x - p.x);
    let cb = dx * (b.y - p.y) - dy * (b.x - p.x);
    let t = ca / (ca - cb);
    if t.is_finite() { a.toward(b, t.clamp(0.0, 1.0)) } else { a }
}
