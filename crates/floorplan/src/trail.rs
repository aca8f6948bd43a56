//! Ways between spots step by step: where one walks, and which doors one opens on the way.

use crate::floor::{place, whole};
use crate::network::{Network, Spot};
use geometry::{Point, Tree};

/// How far from a corner somebody who walks round it stands, in millimetres.
const OFF_CORNER_MM: f64 = 10.0;

/// A bend of a way, or one of its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The floor, as an index into the network's floors.
    pub floor: usize,
    /// Where.
    pub at: Point,
    /// The same, a little off the wall on the side where one walks.
    pub inside: Point,
    /// A closed door is opened here: both of its sides are seen.
    pub door: bool,
}

/// A shortest way between two spots, ends included.
#[derive(Debug, Clone, PartialEq)]
pub struct Trail {
    /// Its length in millimetres, doors and links counted as what passing them is worth.
    pub length_mm: f64,
    /// Where it leads.
    pub steps: Vec<Step>,
}

impl Network<'_> {
    /// The shortest ways between pairs of spots; none where there is none. Pairs with the same beginning should stand
    /// together, since each beginning is searched from once.
    pub fn trails(&self, spots: &[Spot], pairs: &[(usize, usize)]) -> Vec<Option<Trail>> {
        let standing = self.stand(spots, spots);
        let mut tree = Tree::default();
        let mut searched = None;
        let mut out = Vec::with_capacity(pairs.len());
        for &(a, b) in pairs {
            if searched != Some(a) {
                self.search_from(&standing, a, &mut tree);
                searched = Some(a);
            }
            let ends = (self.end(&spots[a]), self.end(&spots[b]));
            let (Some(first), Some(last)) = ends else {
                out.push(None);
                continue;
            };
            out.push(self.way(&standing, (a, b), &tree).map(|(length_mm, nodes)| {
                let mut steps = vec![first];
                steps.extend(nodes.into_iter().filter_map(|node| self.step(node)));
                steps.push(last);
                mark_doors(&mut steps);
                Trail { length_mm, steps }
            }));
        }
        out
    }

    /// The shortest way between two spots as places, level by level, with its length in millimetres.
    pub fn trail(&self, from: &Spot, to: &Spot) -> Option<(f64, Vec<Spot>)> {
        let trail = self.trails(&[from.clone(), to.clone()], &[(0, 1)]).pop()??;
        let spot = |step: &Step| Spot {
            level: self.floors.floors[step.floor].level.clone(),
            at: whole(step.at),
        };
        let mut spots: Vec<Spot> = trail.steps.iter().map(spot).collect();
        spots.dedup();
        Some((trail.length_mm, spots))
    }

    fn end(&self, spot: &Spot) -> Option<Step> {
        let (floor, at) = (self.floors.of(&spot.level)?, place(spot.at));
        Some(Step { floor, at, inside: at, door: self.in_door(floor, at) })
    }

    fn step(&self, node: u32) -> Option<Step> {
        let (floor, at) = self.node_places()[node as usize];
        let known = self.floors.floors.get(floor)?;
        let (ways, offsets, _) = self.parts();
        let own = node - offsets[floor];
        let Some(corner) = ways[floor].nodes.get(own as usize).filter(|corner| corner.at == at)
        else {
            return Some(Step { floor, at, inside: at, door: false });
        };
        let side = ways[floor].floor_side(&known.mesh, own);
        let share = (OFF_CORNER_MM / corner.at.distance(side).max(1e-9)).min(1.0);
        Some(Step { floor, at, inside: at.toward(side, share), door: false })
    }
}

/// A door is passed where the way goes on from its other side.
fn mark_doors(steps: &mut Vec<Step>) {
    for i in 1..steps.len() {
        let (before, here) = (steps[i - 1], steps[i]);
        if before.floor == here.floor && before.at == here.at && before.inside != here.inside {
            steps[i].door = true;
        }
    }
    steps.dedup_by(|b, a| a == b);
}
