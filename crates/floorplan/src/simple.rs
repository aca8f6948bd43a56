//! Whether the rings of a shape meet themselves or each other. Whole numbers, so the answer is exact.

use crate::shape::Point;
use std::cmp::Ordering;

/// The first place (lowest, then leftmost) where sides that are no neighbours meet; sides are swept along an
/// axis, so that a ring of 100,000 corners is judged in a moment.
pub(crate) fn first_meeting(rings: &[Vec<Point>]) -> Option<Point> {
    let mut sides: Vec<Side> = Vec::new();
    for (r, ring) in rings.iter().enumerate() {
        for (i, &a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            if a == b {
                return Some(a);
            }
            let next = (i + 1) % ring.len();
            sides.push(Side { a, b, ring: r, at: i, next });
        }
    }
    // Along the axis on which the sides are shorter fewer are open at a time.
    let span = |of: fn(Point) -> i64| -> i128 {
        sides.iter().map(|side| i128::from(of(side.a).abs_diff(of(side.b)))).sum()
    };
    let axis: fn(Point) -> i64 = if span(|p| p.x) < span(|p| p.y) { |p| p.x } else { |p| p.y };
    let low = |side: &Side| axis(side.a).min(axis(side.b));
    sides.sort_by_key(|side| (low(side), side.a, side.b));
    let mut open: Vec<usize> = Vec::new();
    let mut first: Option<Point> = None;
    for i in 0..sides.len() {
        let floor = low(&sides[i]);
        open.retain(|&j| axis(sides[j].a).max(axis(sides[j].b)) >= floor);
        for &j in &open {
            if let Some(at) = meeting(&sides[i], &sides[j])
                && first.is_none_or(|known| (at.y, at.x) < (known.y, known.x))
            {
                first = Some(at);
            }
        }
        open.push(i);
    }
    first
}

/// One side of a ring, and which.
struct Side {
    a: Point,
    b: Point,
    ring: usize,
    at: usize,
    next: usize,
}

/// Where two sides meet; neighbours may share their corner, but not run back over each other.
fn meeting(one: &Side, other: &Side) -> Option<Point> {
    let apart = |of: fn(Point) -> i64| {
        of(one.a).max(of(one.b)) < of(other.a).min(of(other.b))
            || of(other.a).max(of(other.b)) < of(one.a).min(of(one.b))
    };
    if apart(|p| p.x) || apart(|p| p.y) {
        return None;
    }
    let neighbours = one.ring == other.ring && (one.next == other.at || other.next == one.at);
    let turns = [
        turn(one.a, one.b, other.a),
        turn(one.a, one.b, other.b),
        turn(other.a, other.b, one.a),
        turn(other.a, other.b, one.b),
    ];
    if neighbours {
        let shared = if one.next == other.at { one.b } else { one.a };
        let (p, q) = if one.next == other.at { (one.a, other.b) } else { (one.b, other.a) };
        return (turns.iter().all(|t| t.is_eq()) && back(shared, p, q)).then_some(shared);
    }
    if turns[0] != turns[1] && turns[2] != turns[3] {
        return Some(crossing(one, other));
    }
    let ends = [
        (turns[0], other.a, one),
        (turns[1], other.b, one),
        (turns[2], one.a, other),
        (turns[3], one.b, other),
    ];
    ends.into_iter().find(|(t, p, side)| t.is_eq() && within(side, *p)).map(|(_, p, _)| p)
}

fn turn(a: Point, b: Point, c: Point) -> Ordering {
    let wide = i128::from;
    let left = (wide(b.x) - wide(a.x)) * (wide(c.y) - wide(a.y));
    let right = (wide(b.y) - wide(a.y)) * (wide(c.x) - wide(a.x));
    left.cmp(&right)
}

/// Whether two sides from a shared corner run the same way.
fn back(shared: Point, p: Point, q: Point) -> bool {
    let wide = i128::from;
    let dot = (wide(p.x) - wide(shared.x)) * (wide(q.x) - wide(shared.x))
        + (wide(p.y) - wide(shared.y)) * (wide(q.y) - wide(shared.y));
    dot > 0
}

fn within(side: &Side, p: Point) -> bool {
    (side.a.x.min(side.b.x)..=side.a.x.max(side.b.x)).contains(&p.x)
        && (side.a.y.min(side.b.y)..=side.a.y.max(side.b.y)).contains(&p.y)
}

fn crossing(one: &Side, other: &Side) -> Point {
    let (ux, uy) = ((one.b.x - one.a.x) as f64, (one.b.y - one.a.y) as f64);
    let (vx, vy) = ((other.b.x - other.a.x) as f64, (other.b.y - other.a.y) as f64);
    let (wx, wy) = ((other.a.x - one.a.x) as f64, (other.a.y - one.a.y) as f64);
    let t = (wx * vy - wy * vx) / (ux * vy - uy * vx);
    let whole = |a: i64, u: f64| a + libm::round(u * t) as i64;
    Point::new(whole(one.a.x, ux), whole(one.a.y, uy))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::Shape;

    fn check(ring: &[(i64, i64)], expect: Option<(i64, i64)>) {
        let found = first_meeting(&Shape::ring(ring).rings);
        assert_eq!(found.map(|p| (p.x, p.y)), expect, "{ring:?}");
    }

    #[test]
    fn rings_that_meet_themselves() {
        check(&[(0, 0), (10, 0), (10, 10), (0, 10)], None);
        check(&[(0, 0), (10, 10), (10, 0), (0, 10)], Some((5, 5)));
        // A corner on another side; a spike back over the same line; the same corner twice.
        check(&[(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], Some((5, 0)));
        check(&[(0, 0), (10, 0), (4, 0), (4, 8)], Some((4, 0)));
        check(&[(0, 0), (5, 5), (10, 0), (10, 10), (5, 5), (0, 10)], Some((5, 5)));
    }

    #[test]
    fn a_hole_may_not_touch_its_border() {
        let mut shape = Shape::rectangle((0, 0), (10, 10));
        shape.rings.push(Shape::rectangle((2, 2), (4, 4)).rings.remove(0));
        assert_eq!(first_meeting(&shape.rings), None);
        shape.rings[1][0] = Point::new(0, 2);
        assert_eq!(first_meeting(&shape.rings), Some(Point::new(0, 2)));
    }

    #[test]
    fn a_hundred_thousand_corners() {
        let n = 100_000;
        let ring = (0..n).map(|k| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * f64::from(k) / f64::from(n));
            Point::new(libm::round(cos * 1e8) as i64, libm::round(sin * 1e8) as i64)
        });
        assert_eq!(first_meeting(&[ring.collect()]), None);
    }
}
