//! The walk of a round as lines on the levels, for maps: shortest ways through doors and over stairs.

use crate::fabric::{Leaf, LinkKind};
use crate::floor::{Floors, whole};
use crate::id::LevelId;
use crate::network::{Network, Passage, Spot};
use crate::plan::Plan;
use crate::shape::Point;

/// Pieces of line in walking order, each on one level and of at least two points.
pub type Pieces = Vec<(LevelId, Vec<Point>)>;

/// The ways *to* each place from the one before, to the first from the last; empty where one of the two
/// is not drawn, where no way leads, or where there is nothing to walk.
pub fn walked(plan: &Plan, places: &[Option<Spot>]) -> Vec<Pieces> {
    let spots: Vec<Spot> = places.iter().flatten().cloned().collect();
    let mut legs = vec![Pieces::new(); places.len()];
    if spots.len() < 2 {
        return legs;
    }
    let floors = Floors::new(plan);
    let network = Network::new(plan, &floors, worth);
    let index = |i: usize| places[..i].iter().flatten().count();
    let before = |i: usize| (i + places.len() - 1) % places.len();
    let led: Vec<usize> = (0..places.len())
        .filter(|i| places[*i].is_some() && places[before(*i)].is_some())
        .collect();
    let pairs: Vec<(usize, usize)> = led.iter().map(|i| (index(before(*i)), index(*i))).collect();
    for (i, trail) in led.into_iter().zip(network.trails(&spots, &pairs)) {
        let steps = trail.into_iter().flat_map(|trail| trail.steps);
        let level = |floor: usize| floors.floors[floor].level.clone();
        legs[i] = pieces(steps.map(|step| Spot { level: level(step.floor), at: whole(step.at) }));
    }
    legs
}

fn pieces(way: impl Iterator<Item = Spot>) -> Pieces {
    let mut pieces = Pieces::new();
    for spot in way {
        match pieces.last_mut() {
            // A door is a step on each of its sides, at the same place.
            Some((level, points)) if *level == spot.level => {
                if points.last() != Some(&spot.at) {
                    points.push(spot.at);
                }
            }
            _ => pieces.push((spot.level, vec![spot.at])),
        }
    }
    pieces.retain(|(_, points)| points.len() > 1);
    pieces
}

/// What passing something is worth, mm of level floor (our own figures: only the drawn line rests on
/// them, no time does). No lift on a round, unless the plan allows it there.
fn worth(passage: Passage) -> Option<f64> {
    match passage {
        Passage::Door(Leaf::Window) => None,
        Passage::Door(Leaf::Gap) => Some(0.0),
        Passage::Door(Leaf::Locked) => Some(15_000.0),
        Passage::Door(_) => Some(3_000.0),
        Passage::Link { kind: LinkKind::Lift, rounds, .. } => rounds.then_some(20_000.0),
        Passage::Link { rise_mm, .. } => Some(rise_mm.unsigned_abs() as f64 * 3.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Level, Room, RoomId, RoomKind, Shape};

    /// An L of two rooms' width: from one end to the other the shortest way bends at the inner corner,
    /// whose place follows from the drawing (2 m, 2 m).
    #[test]
    fn the_way_bends_at_the_corner_and_nowhere_else() {
        let mut plan = Plan::simple("Gannet Quay", &["Ground"], 1800);
        let level = LevelId::from_name("ground");
        plan.levels.push(Level { id: level.clone(), name: "Ground".to_owned(), elevation_mm: 0 });
        let ring =
            [(0, 0), (10_000, 0), (10_000, 2_000), (2_000, 2_000), (2_000, 10_000), (0, 10_000)];
        plan.rooms.push(Room {
            id: RoomId::from_name("l"),
            name: "Corridor".to_owned(),
            level: level.clone(),
            kind: RoomKind::Corridor,
            zone: None,
            shape: Shape::ring(&ring),
        });
        let spot = |x, y| Some(Spot { level: level.clone(), at: Point::new(x, y) });
        let legs = walked(&plan, &[spot(9_000, 1_000), None, spot(1_000, 9_000)]);
        assert_eq!(legs[1..], [Pieces::new(), Pieces::new()], "no way over a place not drawn");
        let [(on, way)] = legs[0].as_slice() else { panic!("{legs:?}") };
        assert_eq!(*on, level);
        let corner = [(1_000, 9_000), (2_000, 2_000), (9_000, 1_000)];
        assert_eq!(*way, corner.map(|(x, y)| Point::new(x, y)));
        assert_eq!(walked(&plan, &[spot(1, 1)]), [Pieces::new()]);
    }
}
