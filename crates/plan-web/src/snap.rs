//! Where a press is meant: on a corner, on a wall, straight on from the corner before, else on the squared paper.

use crate::drawing::Drawing;
use crate::model::GRID_MM;
use floorplan::{LevelId, Point};

/// What drew a press to its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Onto {
    /// A corner that is there.
    Corner,
    /// A wall.
    Wall,
    /// Straight from other corners, in x, y or both.
    Straight,
    /// The squared paper.
    Grid,
}

/// A press put where it is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Snapped {
    /// The place.
    pub at: Point,
    /// What drew it there.
    pub onto: Onto,
}

/// Puts a press where it is meant: within `reach_mm` of a corner or wall it goes there, walls keep what is straight;
/// `ring` is the room being drawn, whose last and first corner draw it straight first.
pub fn snap(
    drawing: &Drawing,
    level: &LevelId,
    ring: &[Point],
    at: Point,
    reach_mm: i64,
) -> Snapped {
    let corners = corners(drawing, level);
    let near = corners.iter().chain(ring).filter(|c| c.distance_mm(at) <= reach_mm);
    if let Some(&corner) = near.min_by_key(|c| (c.distance_mm(at), c.x, c.y)) {
        return Snapped { at: corner, onto: Onto::Corner };
    }
    let own: Vec<Point> = ring.last().into_iter().chain(ring.first()).copied().collect();
    let x = aligned(at.x, reach_mm, &own, &corners, |p| p.x);
    let y = aligned(at.y, reach_mm, &own, &corners, |p| p.y);
    let straight = Point::new(x.unwrap_or(grid(at.x)), y.unwrap_or(grid(at.y)));
    if let Some((a, b)) = nearest_wall(drawing, level, at, reach_mm) {
        return Snapped { at: on_wall(a, b, at, x, y), onto: Onto::Wall };
    }
    let onto = if x.is_some() || y.is_some() { Onto::Straight } else { Onto::Grid };
    Snapped { at: straight, onto }
}

/// Every corner of every room of a level.
pub fn corners(drawing: &Drawing, level: &LevelId) -> Vec<Point> {
    let rooms = drawing.plan.rooms.iter().filter(|room| room.level == *level);
    let mut all: Vec<Point> =
        rooms.flat_map(|room| room.shape.rings.iter().flatten()).copied().collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// The wall nearest to a place, if one is within reach.
pub fn nearest_wall(
    drawing: &Drawing,
    level: &LevelId,
    at: Point,
    reach_mm: i64,
) -> Option<(Point, Point)> {
    let rooms = drawing.plan.rooms.iter().filter(|room| room.level == *level);
    let sides = rooms
        .flat_map(|room| room.shape.rings.iter())
        .flat_map(|ring| (0..ring.len()).map(move |i| (ring[i], ring[(i + 1) % ring.len()])));
    let measured = sides.map(|(a, b)| (foot(a, b, at).distance_mm(at), a, b));
    let (off, a, b) = measured.min_by_key(|&(off, a, b)| (off, a, b))?;
    (off <= reach_mm).then_some((a, b))
}

/// The place on a segment that is nearest to a point.
pub fn foot(a: Point, b: Point, p: Point) -> Point {
    let (dx, dy) = ((b.x - a.x) as f64, (b.y - a.y) as f64);
    let square = dx * dx + dy * dy;
    if square == 0.0 {
        return a;
    }
    let t = (((p.x - a.x) as f64 * dx + (p.y - a.y) as f64 * dy) / square).clamp(0.0, 1.0);
    whole(a.x as f64 + t * dx, a.y as f64 + t * dy)
}

/// Whole millimetres.
pub fn whole(x: f64, y: f64) -> Point {
    Point::new(libm::round(x) as i64, libm::round(y) as i64)
}

/// On a wall the coordinate along it is kept straight with other corners, else on the grid.
fn on_wall(a: Point, b: Point, at: Point, x: Option<i64>, y: Option<i64>) -> Point {
    let along_x = (b.x - a.x).abs() >= (b.y - a.y).abs();
    let (dx, dy) = ((b.x - a.x) as f64, (b.y - a.y) as f64);
    let place = if along_x {
        let x = x.unwrap_or(grid(at.x)).clamp(a.x.min(b.x), a.x.max(b.x));
        whole(x as f64, a.y as f64 + dy * (x - a.x) as f64 / dx)
    } else {
        let y = y.unwrap_or(grid(at.y)).clamp(a.y.min(b.y), a.y.max(b.y));
        whole(a.x as f64 + dx * (y - a.y) as f64 / dy, y as f64)
    };
    if a == b { a } else { place }
}

/// The nearest coordinate within reach, of the room's own corners before all others.
fn aligned(
    value: i64,
    reach_mm: i64,
    own: &[Point],
    corners: &[Point],
    of: impl Fn(&Point) -> i64,
) -> Option<i64> {
    let nearest = |points: &[Point]| {
        let near = points.iter().map(&of).filter(|v| (v - value).abs() <= reach_mm);
        near.min_by_key(|v| ((v - value).abs(), *v))
    };
    nearest(own).or_else(|| nearest(corners))
}

/// The nearest line of the squared paper.
pub fn grid(value: i64) -> i64 {
    (value + GRID_MM / 2).div_euclid(GRID_MM) * GRID_MM
}

#[cfg(test)]
mod tests {
    use super::*;
    use floorplan::{Room, RoomId, RoomKind, Shape};

    fn drawing() -> Drawing {
        let mut drawing = Drawing::empty("Gannet Quay", "Ground");
        drawing.plan.rooms.push(Room {
            id: RoomId::from_name("hall"),
            name: "Hall".to_owned(),
            level: LevelId::from_name("ground"),
            kind: RoomKind::Room,
            zone: None,
            shape: Shape::rectangle((0, 0), (8030, 5000)),
        });
        drawing
    }

    fn check(ring: &[(i64, i64)], at: (i64, i64), meant: (i64, i64), onto: Onto) {
        let ring: Vec<Point> = ring.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let level = LevelId::from_name("ground");
        let found = snap(&drawing(), &level, &ring, Point::new(at.0, at.1), 200);
        assert_eq!((found.at, found.onto), (Point::new(meant.0, meant.1), onto), "{at:?}");
    }

    #[test]
    fn a_press_goes_where_it_is_meant() {
        check(&[], (8100, 5120), (8030, 5000), Onto::Corner);
        check(&[], (8150, 2440), (8030, 2400), Onto::Wall);
        check(&[], (11_040, 5150), (11_000, 5000), Onto::Straight);
        check(&[], (11_040, 7_777), (11_000, 7_800), Onto::Grid);
    }

    #[test]
    fn a_room_runs_straight_on_and_closes_square() {
        // From (9000, 1000) to the right: y is kept.
        check(&[(9000, 1000)], (12_340, 1090), (12_300, 1000), Onto::Straight);
        // The fourth corner stands over the first and level with the third.
        let ring = [(9000, 1000), (12_300, 1000), (12_300, 3_300)];
        check(&ring, (9_110, 3_240), (9000, 3_300), Onto::Straight);
        check(&ring, (9_060, 1_100), (9000, 1000), Onto::Corner);
    }

    #[test]
    fn paper_below_zero_is_squared_alike() {
        assert_eq!((grid(-149), grid(-151), grid(149)), (-100, -200, 100));
    }
}
