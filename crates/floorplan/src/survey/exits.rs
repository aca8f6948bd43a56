//! Exit access travel, and pockets with a single door.

use super::{Check, Surveying, What};
use crate::fabric::Leaf;
use crate::network::Spot;
use crate::shape::Point;
use std::collections::BTreeMap;

impl Surveying<'_> {
    pub(super) fn exits(&self, checks: &mut Vec<Check>) {
        if !self.network.has_exit() {
            if !self.spots.is_empty() {
                checks.push(self.at_most(What::NoExit, f64::INFINITY, None));
            }
        } else {
            let lengths = self.network.to_exit(&self.standing);
            if let Some((length, spot)) = self.farthest(&lengths) {
                checks.push(self.at_most(What::ExitTravel, length, Some(spot)));
            }
        }
        if let Some((length, spot)) = self.pocket() {
            checks.push(self.at_most(What::OnlyDoor, length, Some(spot)));
        }
        let calls: Vec<Spot> = (self.plan.marks.iter())
            .filter(|mark| mark.kind == crate::MarkKind::CallSpot)
            .map(|mark| Spot { level: mark.level.clone(), at: mark.at })
            .collect();
        if !calls.is_empty()
            && let Some((length, spot)) =
                self.farthest(&self.network.nearest(&calls, &self.standing))
        {
            checks.push(self.at_most(What::CallSpot, length, Some(spot)));
        }
    }

    /// The most remote of the spots that can be reached at all.
    pub(super) fn farthest(&self, lengths: &[f64]) -> Option<(f64, Spot)> {
        let reached = lengths.iter().zip(&self.spots).filter(|(length, _)| length.is_finite());
        let (length, spot) = reached.max_by(|a, b| a.0.total_cmp(b.0).then(b.1.cmp(a.1)))?;
        Some((*length, spot.clone()))
    }

    /// Among the parts of the floor that one door and nothing else joins to the rest, the farthest any place is from
    /// that door. Through any other such door it is no nearer: the way there leads through the own one.
    fn pocket(&self) -> Option<(f64, Spot)> {
        let parts: Vec<Vec<u32>> =
            self.floors.floors.iter().map(|floor| floor.mesh.parts()).collect();
        let part_at = |f: usize, at: Point| -> Option<(usize, u32)> {
            let t = triangle(&self.floors.floors[f].mesh, at)?;
            Some((f, parts[f][t as usize]))
        };
        let mut ways: BTreeMap<(usize, u32), Vec<Option<Spot>>> = BTreeMap::new();
        for (f, floor) in self.floors.floors.iter().enumerate() {
            let leaf = |i: usize| self.plan.openings[i].leaf;
            for &(i, vertex) in floor.doors.iter().filter(|(i, _)| leaf(*i) != Leaf::Window) {
                let Some(vertex) = vertex else { continue };
                let at = crate::floor::whole(floor.mesh.points[vertex as usize]);
                let mut sides: Vec<u32> =
                    floor.mesh.triangles_at(vertex).map(|t| parts[f][t as usize]).collect();
                sides.sort_unstable();
                sides.dedup();
                // A door inside one part joins it to nothing, unless it leads out.
                if sides.len() < 2 && !self.plan.openings[i].exit {
                    continue;
                }
                for part in sides {
                    let spot = Spot { level: floor.level.clone(), at };
                    ways.entry((f, part)).or_default().push(Some(spot));
                }
            }
        }
        for foot in self.plan.links.iter().flat_map(|link| &link.feet) {
            let part = self.floors.of(&foot.level).and_then(|f| part_at(f, foot.at));
            ways.entry(part.unwrap_or((usize::MAX, 0))).or_default().push(None);
        }
        let single = |(part, ways): (&(usize, u32), &Vec<Option<Spot>>)| match ways.as_slice() {
            [Some(door)] => Some((*part, door.clone())),
            _ => None,
        };
        let single: BTreeMap<(usize, u32), Spot> = ways.iter().filter_map(single).collect();
        let doors: Vec<Spot> = single.values().cloned().collect();
        if doors.is_empty() {
            return None;
        }
        let lengths = self.network.nearest(&doors, &self.standing);
        let mut worst: Option<(f64, Spot)> = None;
        for (spot, &length) in self.spots.iter().zip(&lengths) {
            let part = self.floors.of(&spot.level).and_then(|f| part_at(f, spot.at));
            let inside = part.is_some_and(|part| single.contains_key(&part));
            if inside && length.is_finite() && worst.as_ref().is_none_or(|(l, _)| length > *l) {
                worst = Some((length, spot.clone()));
            }
        }
        worst
    }
}

fn triangle(mesh: &geometry::Mesh, at: Point) -> Option<u32> {
    use geometry::Location::{Edge, Inside, Outside, Vertex};
    match mesh.locate(crate::floor::place(at)) {
        Inside(t) => Some(t),
        Edge(h) => Some(h / 3),
        Vertex(v) => mesh.triangle_at(v),
        Outside => None,
    }
}
