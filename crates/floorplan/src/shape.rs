//! Points and areas in millimetres, in the plan's own frame: x to the right, y up, counter-clockwise is positive.

use serde::{Deserialize, Serialize};

/// A place on a level, in millimetres; written `[x,y]`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(from = "[i64; 2]", into = "[i64; 2]")]
pub struct Point {
    /// To the right.
    pub x: i64,
    /// Up the page.
    pub y: i64,
}

/// Farther from the frame's origin than any site: 1,000 km in millimetres.
pub const COORDINATE_MAX_MM: i64 = 1_000_000_000;

impl Point {
    /// The point at `x`, `y` in millimetres.
    pub const fn new(x: i64, y: i64) -> Self {
        Self { x, y }
    }

    /// Straight distance in millimetres, rounded down.
    pub fn distance_mm(self, other: Point) -> i64 {
        let (dx, dy) = (i128::from(self.x - other.x), i128::from(self.y - other.y));
        let square = dx * dx + dy * dy;
        i64::try_from(square.isqrt()).unwrap_or(i64::MAX)
    }
}

impl From<[i64; 2]> for Point {
    fn from([x, y]: [i64; 2]) -> Self {
        Self { x, y }
    }
}

impl From<Point> for [i64; 2] {
    fn from(point: Point) -> Self {
        [point.x, point.y]
    }
}

/// An area: the outer ring first, then its holes; rings are not closed by a repeated point.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize, Default)]
#[serde(transparent)]
pub struct Shape {
    /// Outer ring, then holes.
    pub rings: Vec<Vec<Point>>,
}

impl Shape {
    /// An area without holes.
    pub fn ring(points: &[(i64, i64)]) -> Self {
        Self { rings: vec![points.iter().map(|&(x, y)| Point::new(x, y)).collect()] }
    }

    /// The rectangle with corners `a` and `b`.
    pub fn rectangle(a: (i64, i64), b: (i64, i64)) -> Self {
        Self::ring(&[a, (b.0, a.1), b, (a.0, b.1)])
    }

    /// Twice the area in mm²: the outer ring less its holes, whatever way round they run (shoelace).
    pub fn double_area_mm2(&self) -> i128 {
        let mut rings = self.rings.iter().map(|ring| ring_double_area(ring).abs());
        let outer = rings.next().unwrap_or(0);
        outer - rings.sum::<i128>()
    }

    /// The area in square metres.
    pub fn area_m2(&self) -> f64 {
        self.double_area_mm2() as f64 / 2e6
    }

    /// Whether `point` lies inside or on the border (even-odd rule).
    pub fn contains(&self, point: Point) -> bool {
        let mut inside = false;
        for ring in &self.rings {
            for (i, &a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                let cross = cross(a, b, point);
                if cross == 0 && between(a, b, point) {
                    return true;
                }
                if (a.y > point.y) != (b.y > point.y) && (cross > 0) == (b.y > a.y) {
                    inside = !inside;
                }
            }
        }
        inside
    }

    /// Smallest and largest coordinates; none for an empty area.
    pub fn bounds(&self) -> Option<(Point, Point)> {
        let mut points = self.rings.iter().flatten().copied();
        let first = points.next()?;
        Some(points.fold((first, first), |(lo, hi), p| {
            (Point::new(lo.x.min(p.x), lo.y.min(p.y)), Point::new(hi.x.max(p.x), hi.y.max(p.y)))
        }))
    }
}

/// Twice the signed area of a ring, positive when it runs counter-clockwise.
pub fn ring_double_area(ring: &[Point]) -> i128 {
    ring.iter()
        .enumerate()
        .map(|(i, a)| {
            let b = ring[(i + 1) % ring.len()];
            i128::from(a.x) * i128::from(b.y) - i128::from(b.x) * i128::from(a.y)
        })
        .sum()
}

fn cross(a: Point, b: Point, c: Point) -> i128 {
    i128::from(b.x - a.x) * i128::from(c.y - a.y) - i128::from(b.y - a.y) * i128::from(c.x - a.x)
}

fn between(a: Point, b: Point, p: Point) -> bool {
    (a.x.min(b.x)..=a.x.max(b.x)).contains(&p.x) && (a.y.min(b.y)..=a.y.max(b.y)).contains(&p.y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn area_with_a_hole() {
        let mut shape = Shape::rectangle((0, 0), (4000, 3000));
        shape.rings.push(Shape::rectangle((1000, 1000), (2000, 2000)).rings.remove(0));
        assert_eq!(shape.area_m2(), 11.0);
        assert!(shape.contains(Point::new(500, 500)));
        assert!(shape.contains(Point::new(1000, 1500)), "the border belongs to the area");
        assert!(!shape.contains(Point::new(1500, 1500)));
        assert!(!shape.contains(Point::new(4001, 10)));
    }

    #[test]
    fn distance_is_whole_millimetres() {
        assert_eq!(Point::new(0, 0).distance_mm(Point::new(3000, 4000)), 5000);
    }
}
