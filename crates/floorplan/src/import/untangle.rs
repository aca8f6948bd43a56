//! Rooms whose border crosses or touches itself, made usable: laid out anew, taken apart where they only meet in a
//! place, and cut open where a pillar or a wall touches the border it stands in.

use super::Report;
use crate::fabric::Room;
use crate::floor::{place, whole};
use crate::id::RoomId;
use crate::plan::Plan;
use crate::shape::{Point, Shape, ring_double_area};
use crate::simple::first_meeting;
use geometry::{Arrangement, Grid};
use std::collections::{BTreeMap, BTreeSet};

/// How much of a corner is cut off where a border touches itself, in millimetres, tried one after the other (ours).
const CUTS_MM: [i64; 4] = [10, 5, 20, 40];
/// The cut of a corner is at least so wide, in millimetres: a sharp one is cut farther in.
const CHIP_LEAST_MM: f64 = 3.0;
/// Smaller pieces are crumbs between lines that were meant to be one, in square metres (ours).
const CRUMB_M2: f64 = 0.01;

/// Mends every room whose rings meet themselves or each other, as far as they can be mended, and says what was done.
pub(super) fn untangle(plan: &mut Plan, report: &mut Report) {
    let mut taken: BTreeSet<String> = plan.rooms.iter().map(|room| room.id.to_string()).collect();
    for mut room in std::mem::take(&mut plan.rooms) {
        let Some(at) = first_meeting(&room.shape.rings) else {
            plan.rooms.push(room);
            continue;
        };
        let part = format!("{} at x {} mm, y {} mm", room.id, at.x, at.y);
        let pieces = pieces(&room.shape);
        let Some((first, others)) = pieces.split_first() else {
            // Nothing to be saved: the check of the plan names it.
            plan.rooms.push(room);
            continue;
        };
        report.guessed(
            if others.is_empty() {
                "a border that met itself was cut open there, by a few millimetres of floor"
            } else {
                "a room whose border met itself became a room for each of its parts"
            },
            &part,
        );
        let more: Vec<Room> = others
            .iter()
            .map(|shape| Room {
                id: unused(&mut taken, &room.id),
                shape: shape.clone(),
                ..room.clone()
            })
            .collect();
        room.shape = first.clone();
        plan.rooms.push(room);
        plan.rooms.extend(more);
    }
}

fn unused(taken: &mut BTreeSet<String>, id: &RoomId) -> RoomId {
    let mut ids = (2..).map(|k| format!("{id}-{k}"));
    let free = ids.find(|id| taken.insert(id.clone()));
    RoomId::from_name(&free.expect("numbers do not end"))
}

/// The parts of a shape that hang together by more than a place, largest first, none of which meets itself.
fn pieces(shape: &Shape) -> Vec<Shape> {
    let ring = |ring: &Vec<Point>| ring.iter().map(|&p| place(p)).collect();
    let laid = geometry::Shape { rings: shape.rings.iter().map(ring).collect() };
    let Ok(arrangement) = Arrangement::new(&[laid], &[], Grid::whole(0.0)) else {
        return Vec::new();
    };
    let floor = |component: u32| !arrangement.inside[component as usize].is_empty();
    let corners = |ring: &Vec<u32>| {
        let all = ring.iter().map(|&h| whole(arrangement.origin(h))).collect();
        without_straight_corners(all)
    };
    let rings = arrangement.outline(floor).iter().map(corners).collect::<Vec<Vec<Point>>>();
    // Floor lies to the left: what runs round floor is a border, what runs the other way round a hole.
    let (borders, holes): (Vec<_>, Vec<_>) =
        rings.into_iter().partition(|ring| ring_double_area(ring) > 0);
    let mut out: Vec<Shape> = borders.into_iter().map(|ring| Shape { rings: vec![ring] }).collect();
    out.sort_by_key(Shape::double_area_mm2);
    for hole in holes {
        // Borders lie in each other only when a hole lies between, so the smallest one around it is its own.
        let around = |shape: &&mut Shape| {
            let alone = Shape { rings: vec![shape.rings[0].clone()] };
            hole.iter().all(|&p| alone.contains(p))
        };
        if let Some(shape) = out.iter_mut().find(around) {
            shape.rings.push(hole);
        }
    }
    out.retain(|shape| shape.area_m2() >= CRUMB_M2);
    out.reverse();
    out.iter().filter_map(cut_open).collect()
}

/// A ring without the corners that splitting put into straight sides.
fn without_straight_corners(ring: Vec<Point>) -> Vec<Point> {
    let mut visits: BTreeMap<Point, usize> = BTreeMap::new();
    ring.iter().for_each(|&p| *visits.entry(p).or_insert(0) += 1);
    let n = ring.len();
    let keep = |i: &usize| {
        let (before, at, after) = (ring[(i + n - 1) % n], ring[*i], ring[(i + 1) % n]);
        visits[&at] > 1 || ring_double_area(&[before, at, after]) != 0
    };
    (0..n).filter(keep).map(|i| ring[i]).collect()
}

/// The same floor less a chip at each place that a ring passes more than once; none when it meets itself all the same.
fn cut_open(shape: &Shape) -> Option<Shape> {
    if first_meeting(&shape.rings).is_none() {
        return Some(shape.clone());
    }
    CUTS_MM.iter().find_map(|&cut_mm| {
        let rings: Vec<Vec<Point>> = shape.rings.iter().map(|ring| chipped(ring, cut_mm)).collect();
        first_meeting(&rings).is_none().then_some(Shape { rings })
    })
}

/// A ring with the corner cut off at every visit to a place but the one with the widest angle of floor: floor is only
/// ever taken away, and what touches stays joined, so that nothing can be seen or walked through.
fn chipped(ring: &[Point], cut_mm: i64) -> Vec<Point> {
    let n = ring.len();
    let mut visits: BTreeMap<Point, Vec<usize>> = BTreeMap::new();
    ring.iter().enumerate().for_each(|(i, &p)| visits.entry(p).or_default().push(i));
    let around = |i: usize| (ring[(i + n - 1) % n], ring[(i + 1) % n]);
    let mut widest = BTreeSet::new();
    for (&at, visits) in visits.iter().filter(|(_, visits)| visits.len() > 1) {
        let angle = |i: &usize| floor_angle(at, around(*i));
        widest.extend(visits.iter().copied().max_by(|i, j| angle(i).total_cmp(&angle(j))));
    }
    let mut out = Vec::with_capacity(n + visits.len());
    for (i, &at) in ring.iter().enumerate() {
        if visits[&at].len() == 1 || widest.contains(&i) {
            out.push(at);
        } else {
            let (before, after) = around(i);
            let half = libm::sin(floor_angle(at, (before, after)) / 2.0).abs();
            let by_mm = (cut_mm as f64).max(CHIP_LEAST_MM / (2.0 * half).max(1e-9));
            out.extend([toward(at, before, by_mm), toward(at, after, by_mm)]);
        }
    }
    out
}

/// The angle of floor at a corner, floor to the left, in radians from 0 to 2π.
fn floor_angle(at: Point, (before, after): (Point, Point)) -> f64 {
    let way = |p: Point| libm::atan2((p.y - at.y) as f64, (p.x - at.x) as f64);
    (way(before) - way(after)).rem_euclid(std::f64::consts::TAU)
}

/// The place `by_mm` from `at` toward `to`, at most a third of the way.
fn toward(at: Point, to: Point, by_mm: f64) -> Point {
    let (dx, dy) = ((to.x - at.x) as f64, (to.y - at.y) as f64);
    let part = (by_mm / libm::sqrt(dx * dx + dy * dy)).min(1.0 / 3.0);
    Point::new(at.x + libm::round(dx * part) as i64, at.y + libm::round(dy * part) as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn areas(ring: &[(i64, i64)]) -> Vec<f64> {
        let pieces = pieces(&Shape::ring(ring));
        for piece in &pieces {
            assert_eq!(first_meeting(&piece.rings), None, "{piece:?}");
        }
        pieces.iter().map(|piece| (piece.area_m2() * 1e3).round() / 1e3).collect()
    }

    #[test]
    fn a_bow_tie_is_two_rooms() {
        let bow = [(0, 0), (4000, 4000), (4000, 0), (0, 4000)];
        assert_eq!(areas(&bow), [4.0, 4.0]);
    }

    #[test]
    fn rooms_that_meet_in_a_corner_are_two() {
        let pair = [
            (0, 0),
            (3000, 0),
            (3000, 3000),
            (5000, 3000),
            (5000, 5000),
            (3000, 5000),
            (3000, 3000),
            (0, 3000),
        ];
        assert_eq!(areas(&pair), [9.0, 4.0]);
    }

    /// A hall of 10 m × 8 m with a pillar of 2 m × 2 m one corner of which touches the wall, drawn in one stroke.
    #[test]
    fn a_pillar_that_touches_the_wall_stays_joined_to_it() {
        let hall = [
            (0, 0),
            (4000, 0),
            (3000, 1000),
            (4000, 2000),
            (5000, 1000),
            (4000, 0),
            (10_000, 0),
            (10_000, 8000),
            (0, 8000),
        ];
        let pieces = pieces(&Shape::ring(&hall));
        assert_eq!((pieces.len(), pieces[0].rings.len()), (1, 1));
        assert_eq!(first_meeting(&pieces[0].rings), None);
        let lost_mm2 = 78e6 - pieces[0].area_m2() * 1e6;
        assert!((0.0..200.0).contains(&lost_mm2), "{lost_mm2} mm² of floor cut off");
        assert!(!pieces[0].contains(Point::new(4000, 3)), "the gap is shut");
    }

    #[test]
    fn a_hole_in_the_middle_of_a_side_and_one_on_the_other_hole() {
        let mut shape = Shape::rectangle((0, 0), (10_000, 8000));
        shape.rings.push(
            Shape::ring(&[(0, 4000), (1000, 3000), (2000, 4000), (1000, 5000)]).rings.remove(0),
        );
        shape.rings.push(Shape::ring(&[(2000, 4000), (3000, 3000), (4000, 4000)]).rings.remove(0));
        shape.rings.push(Shape::rectangle((6000, 6000), (7000, 7000)).rings.remove(0));
        let pieces = pieces(&shape);
        assert_eq!((pieces.len(), pieces[0].rings.len()), (1, 2));
        assert_eq!(first_meeting(&pieces[0].rings), None);
        assert!((pieces[0].area_m2() - 76.0).abs() < 1e-3, "{}", pieces[0].area_m2());
    }

    /// As an outline less a wall leaves it: a wedge of floor half a degree sharp ends in another corner.
    #[test]
    fn a_sharp_wedge_is_cut_farther_in() {
        let ring = [
            (0, 0),
            (10_000, 0),
            (10_000, 9000),
            (5000, 5000),
            (5040, 9000),
            (5080, 9000),
            (5000, 5000),
            (0, 9000),
        ];
        let pieces = pieces(&Shape::ring(&ring));
        assert_eq!(
            pieces.iter().map(|piece| first_meeting(&piece.rings)).collect::<Vec<_>>(),
            [None; 2]
        );
    }

    #[test]
    fn a_spike_and_a_double_line_are_no_floor() {
        assert_eq!(
            areas(&[(0, 0), (4000, 0), (4000, 3000), (9000, 3000), (4000, 3000), (0, 3000)]),
            [12.0]
        );
    }

    /// Typed by us as the tags prescribe: a hall drawn in one stroke, with a pillar that touches its south wall and a lobby
    /// that it meets in a corner only.
    #[test]
    fn an_imported_hall_that_meets_itself_passes_the_check() {
        let metres = [
            (0, 0),
            (4, 0),
            (3, 1),
            (4, 2),
            (5, 1),
            (4, 0),
            (10, 0),
            (10, 8),
            (14, 8),
            (14, 12),
            (10, 12),
            (10, 8),
            (0, 8),
            (0, 0),
        ];
        // At 50° north a degree is 71,696 m wide and 111,229 m high (WGS 84).
        let place = |&(x, y): &(i32, i32)| {
            format!("[{},{}]", 10.0 + f64::from(x) / 71_696.0, 50.0 + f64::from(y) / 111_229.0)
        };
        let ring = metres.iter().map(place).collect::<Vec<_>>().join(",");
        let text = format!(
            r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"indoor":"area","level":"0","ref":"Hall"}},
            "geometry":{{"type":"Polygon","coordinates":[[{ring}]]}}}}]}}"#
        );
        let wishes = crate::import::Wishes::default();
        let imported = crate::import::read(text.as_bytes(), None, None, &wishes).expect("a plan");
        assert_eq!(imported.plan.check(), []);
        let mut areas: Vec<i64> =
            imported.plan.rooms.iter().map(|room| room.shape.area_m2().round() as i64).collect();
        areas.sort_unstable();
        assert_eq!(areas, [16, 78]);
        let said = &imported.report.guessed;
        assert_eq!(
            said["a room whose border met itself became a room for each of its parts"].count,
            1
        );
    }
}
