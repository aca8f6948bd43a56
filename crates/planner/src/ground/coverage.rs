//! What is seen from rounds as they are walked: from every stop and viewpoint, all along the legs, and on both sides of
//! every door that is opened. Places between are taken a step apart, so that the share is never overstated.

use super::Ground;
use crate::gaps::Plan;
use crate::seeing::{Place, Scene, left};
use floorplan::{LevelId, Point, Spot, Trail};
use std::collections::BTreeSet;

/// Distance between two looks along a leg, in millimetres.
const STEP_MM: f64 = 1000.0;

/// What is seen of the floor, in square millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// All floor of the plan that could be walked if every way were open.
    pub floor_mm2: f64,
    /// Floor that no way leads to; it counts as unseen.
    pub unreached_mm2: f64,
    /// Floor that is not seen, with what cannot be reached.
    pub unseen_mm2: f64,
}

impl Seen {
    /// The share of the floor that is seen.
    pub fn share(&self) -> f64 {
        if self.floor_mm2 > 0.0 { 1.0 - self.unseen_mm2 / self.floor_mm2 } else { 1.0 }
    }
}

/// A piece of floor on its level.
pub type Piece = (LevelId, Vec<Point>);

impl Ground<'_> {
    /// The ways of the legs of each team's round; leg `i` leads to the round's stop `i` from the one before.
    pub fn legs(&self, spots: &[Spot], plan: &Plan) -> Vec<Vec<Option<Trail>>> {
        let leg =
            |round: &[usize], i: usize| (round[(i + round.len() - 1) % round.len()], round[i]);
        plan.teams
            .iter()
            .map(|team| {
                let pairs: Vec<(usize, usize)> =
                    (0..team.round.len()).map(|i| leg(&team.round, i)).collect();
                self.network.trails(spots, &pairs)
            })
            .collect()
    }

    /// The way between two of the spots.
    pub fn trail(&self, spots: &[Spot], pair: (usize, usize)) -> Option<Trail> {
        self.network.trails(spots, &[pair]).pop()?
    }

    /// What is seen from these legs when one sees `sight_mm` far where the zone does not say; none when the plan has no
    /// floor.
    pub fn seen(&self, sight_mm: f64, legs: &[Vec<Option<Trail>>]) -> Option<Seen> {
        self.seen_and_left(sight_mm, legs).map(|(seen, _)| seen)
    }

    /// The same with the pieces of floor that can be reached and are not seen, each with its level.
    pub fn seen_and_left(
        &self,
        sight_mm: f64,
        legs: &[Vec<Option<Trail>>],
    ) -> Option<(Seen, Vec<Piece>)> {
        let floor_mm2 = self.floors.area_m2() * 1e6;
        if self.floors.floors.is_empty() || floor_mm2 <= 0.0 {
            return None;
        }
        let scene = Scene::of_plan(self.plan, self.floors, &self.network, sight_mm);
        let mut places = Vec::new();
        let mut known = BTreeSet::new();
        let mut look = |floor: usize, at: geometry::Point, door: bool| {
            if !self.stands_free(floor, at, door) {
                return;
            }
            let near = |mm: f64| libm::round(mm / 50.0) as i64;
            let key = (floor, door, near(at.x), near(at.y));
            if known.insert(key) {
                places.push(Place { floor, at });
            }
        };
        for trail in legs.iter().flatten().flatten() {
            let steps = &trail.steps;
            for (i, step) in steps.iter().enumerate() {
                let end = i == 0 || i + 1 == steps.len();
                let at = if step.door || end { step.at } else { step.inside };
                look(step.floor, at, step.door);
            }
            for pair in steps.windows(2).filter(|pair| pair[0].floor == pair[1].floor) {
                let (a, b) = (pair[0].inside, pair[1].inside);
                let count = (a.distance(b) / STEP_MM) as usize;
                for k in 0..count {
                    look(pair[0].floor, a.toward(b, (k as f64 + 0.5) / count as f64), false);
                }
            }
        }
        let unreached_mm2 = (floor_mm2 - scene.floor_area()).max(0.0);
        let (left_mm2, pieces) = left(&scene, &places);
        let unseen_mm2 = (left_mm2 + unreached_mm2).min(floor_mm2);
        let pieces = pieces.into_iter().map(|(floor, piece)| {
            let piece = piece.into_iter().map(floorplan::floor::whole).collect();
            (self.level(floor).clone(), piece)
        });
        Some((Seen { floor_mm2, unreached_mm2, unseen_mm2 }, pieces.collect()))
    }

    /// A place on a wall would see both of its sides; only somebody in an open door does.
    pub(super) fn stands_free(&self, floor: usize, at: geometry::Point, door: bool) -> bool {
        let mesh = &self.floors.floors[floor].mesh;
        match mesh.locate(at) {
            geometry::Location::Inside(_) => true,
            geometry::Location::Edge(h) => mesh.borders[h as usize] == geometry::Border::Open,
            geometry::Location::Vertex(_) => door,
            geometry::Location::Outside => false,
        }
    }
}
