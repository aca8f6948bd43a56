//! Borders shared by rooms: where a door that is drawn as a point lies in them, and what two rooms have in common.

use crate::shape::{Point, Shape};

/// How far a door may lie from the border it belongs to, in millimetres.
const DOOR_OFF_MAX_MM: f64 = 500.0;
/// Borders nearer than this run in the same wall, in millimetres.
const SAME_MM: f64 = 60.0;
/// Sine of the angle below which two borders run in the same direction.
const SAME_SINE: f64 = 0.06;

/// A straight piece of a border.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// From here.
    pub a: Point,
    /// To here.
    pub b: Point,
    /// Which shape it belongs to, as the caller counts them.
    pub of: usize,
}

/// Every side of some shapes.
pub fn sides<'a>(shapes: impl Iterator<Item = (usize, &'a Shape)>) -> Vec<Side> {
    let mut out = Vec::new();
    for (of, shape) in shapes {
        for ring in &shape.rings {
            for (i, &a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                if a != b {
                    out.push(Side { a, b, of });
                }
            }
        }
    }
    out
}

/// A door found in a border.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Its jambs.
    pub line: [Point; 2],
    /// How far the drawn point was from the border, in millimetres.
    pub off_mm: i64,
    /// The shapes it joins, ascending.
    pub joins: Vec<usize>,
}

/// Puts a door of `width_mm` drawn at `at` into the border it belongs to: the direction in which most shapes run past
/// it, then the longest. None when no border is within reach.
pub fn place_door(at: Point, width_mm: i64, sides: &[Side]) -> Option<Found> {
    let off = sides.iter().map(|side| distance(*side, at)).fold(f64::INFINITY, f64::min);
    if off > DOOR_OFF_MAX_MM {
        return None;
    }
    let near: Vec<Side> =
        sides.iter().copied().filter(|side| distance(*side, at) <= off + SAME_MM).collect();
    let mut best: Option<(usize, f64, Side, Vec<usize>)> = None;
    for &side in &near {
        let mut joins: Vec<usize> =
            near.iter().filter(|o| parallel(side, **o)).map(|o| o.of).collect();
        joins.sort_unstable();
        joins.dedup();
        let length = length(side);
        if best.as_ref().is_none_or(|(n, len, ..)| (joins.len(), length) > (*n, *len)) {
            best = Some((joins.len(), length, side, joins));
        }
    }
    let (_, length, side, joins) = best?;
    let u = ((side.b.x - side.a.x) as f64 / length, (side.b.y - side.a.y) as f64 / length);
    let along = |p: Point| (p.x - side.a.x) as f64 * u.0 + (p.y - side.a.y) as f64 * u.1;
    let middle = along(at);
    let (mut from, mut to) = (middle, middle);
    for other in near.iter().filter(|o| parallel(side, **o) && joins.contains(&o.of)) {
        from = from.min(along(other.a)).min(along(other.b));
        to = to.max(along(other.a)).max(along(other.b));
    }
    let width = (width_mm as f64).min(to - from);
    let start = (middle - width / 2.0).clamp(from, to - width);
    let point = |s: f64| {
        Point::new(
            libm::round(side.a.x as f64 + u.0 * s) as i64,
            libm::round(side.a.y as f64 + u.1 * s) as i64,
        )
    };
    let line = [point(start), point(start + width)];
    (line[0] != line[1]).then_some(Found { line, off_mm: libm::round(off) as i64, joins })
}

/// The piece that two sides of different shapes have in common, when at least `least_mm` long.
pub fn shared(one: Side, other: Side, least_mm: i64) -> Option<[Point; 2]> {
    if one.of == other.of || !parallel(one, other) || line_distance(one, other.a) > SAME_MM {
        return None;
    }
    let length = length(one);
    let u = ((one.b.x - one.a.x) as f64 / length, (one.b.y - one.a.y) as f64 / length);
    let along = |p: Point| (p.x - one.a.x) as f64 * u.0 + (p.y - one.a.y) as f64 * u.1;
    let (s, t) = (along(other.a), along(other.b));
    let (from, to) = (s.min(t).max(0.0), s.max(t).min(length));
    if to - from < least_mm as f64
        || distance(other, one.a).min(distance(other, one.b)) > SAME_MM + length
    {
        return None;
    }
    let point = |s: f64| {
        Point::new(
            libm::round(one.a.x as f64 + u.0 * s) as i64,
            libm::round(one.a.y as f64 + u.1 * s) as i64,
        )
    };
    Some([point(from), point(to)])
}

fn length(side: Side) -> f64 {
    libm::sqrt(((side.b.x - side.a.x) as f64).powi(2) + ((side.b.y - side.a.y) as f64).powi(2))
}

fn parallel(one: Side, other: Side) -> bool {
    let (ux, uy) = ((one.b.x - one.a.x) as f64, (one.b.y - one.a.y) as f64);
    let (vx, vy) = ((other.b.x - other.a.x) as f64, (other.b.y - other.a.y) as f64);
    (ux * vy - uy * vx).abs() <= SAME_SINE * length(one) * length(other)
}

fn line_distance(side: Side, p: Point) -> f64 {
    let (ux, uy) = ((side.b.x - side.a.x) as f64, (side.b.y - side.a.y) as f64);
    ((p.x - side.a.x) as f64 * uy - (p.y - side.a.y) as f64 * ux).abs() / length(side)
}

/// The place on some sides that lies nearest to `p`.
pub fn nearest(p: Point, sides: &[Side]) -> Option<Point> {
    let on = |side: &Side| {
        let (dx, dy) = ((side.b.x - side.a.x) as f64, (side.b.y - side.a.y) as f64);
        let along = ((p.x - side.a.x) as f64 * dx + (p.y - side.a.y) as f64 * dy)
            / (dx * dx + dy * dy).max(1.0);
        let t = along.clamp(0.0, 1.0);
        Point::new(side.a.x + libm::round(dx * t) as i64, side.a.y + libm::round(dy * t) as i64)
    };
    sides.iter().map(on).min_by_key(|q| (q.distance_mm(p), q.x, q.y))
}

/// Distance from a point to a side, in millimetres.
pub fn distance(side: Side, p: Point) -> f64 {
    let (ux, uy) = ((side.b.x - side.a.x) as f64, (side.b.y - side.a.y) as f64);
    let (px, py) = ((p.x - side.a.x) as f64, (p.y - side.a.y) as f64);
    let t = ((px * ux + py * uy) / (ux * ux + uy * uy)).clamp(0.0, 1.0);
    libm::sqrt((px - t * ux).powi(2) + (py - t * uy).powi(2))
}

/// A place inside a shape and well away from its border: the best of some horizontal chords' middles.
pub fn inside(shape: &Shape) -> Option<Point> {
    let (lo, hi) = shape.bounds()?;
    let all = sides(std::iter::once((0, shape)));
    let mut best: Option<(f64, Point)> = None;
    for k in 1..16 {
        let y = lo.y + (hi.y - lo.y) * k / 16;
        let mut xs: Vec<f64> = all
            .iter()
            .filter(|s| (s.a.y > y) != (s.b.y > y))
            .map(|s| {
                s.a.x as f64 + (y - s.a.y) as f64 * (s.b.x - s.a.x) as f64 / (s.b.y - s.a.y) as f64
            })
            .collect();
        xs.sort_by(f64::total_cmp);
        for pair in xs.chunks_exact(2) {
            for part in [0.25, 0.5, 0.75] {
                let at = Point::new(libm::round(pair[0] + (pair[1] - pair[0]) * part) as i64, y);
                let room = all.iter().map(|s| distance(*s, at)).fold(f64::INFINITY, f64::min);
                if shape.contains(at) && best.is_none_or(|(r, _)| room > r) {
                    best = Some((room, at));
                }
            }
        }
    }
    best.map(|(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_door_lies_in_the_wall_two_rooms_share() {
        let left = Shape::rectangle((0, 0), (4000, 3000));
        let right = Shape::rectangle((4000, 0), (9000, 3000));
        let all = sides([(0, &left), (1, &right)].into_iter());
        let found = place_door(Point::new(4005, 1000), 900, &all).expect("in reach");
        assert_eq!(
            (found.line[0].x, found.line[1].x, found.joins.as_slice()),
            (4000, 4000, &[0, 1][..])
        );
        assert_eq!(found.line[0].distance_mm(found.line[1]), 900);
        assert_eq!(place_door(Point::new(4300, 9000), 900, &all), None);
    }

    #[test]
    fn a_place_inside_an_angle() {
        let shape =
            Shape::ring(&[(0, 0), (6000, 0), (6000, 1000), (1000, 1000), (1000, 6000), (0, 6000)]);
        assert!(shape.contains(inside(&shape).expect("has an inside")));
    }
}
