//! Exit access travel, and pockets with a single door.

use super::{Check, Surveying};
use crate::fabric::Leaf;
use crate::network::Spot;
use std::collections::BTreeMap;

impl Surveying<'_> {
    pub(super) fn exits(&self, checks: &mut Vec<Check>) {
        if !self.network.has_exit() {
            if !self.spots.is_empty() {
                checks.push(self.at_most(
                    "exit access travel: the plan shows no exit",
                    "exit-travel",
                    None,
                    f64::INFINITY,
                    None,
                ));
            }
        } else {
            let lengths = self.network.to_exit(&self.spots);
            if let Some((length, spot)) = self.farthest(&lengths) {
                checks.push(self.at_most(
                    "exit access travel",
                    "exit-travel",
                    None,
                    length,
                    Some(spot),
                ));
            }
        }
        if let Some((length, spot)) = self.pocket() {
            checks.push(self.at_most(
                "way to the only door of a room",
                "common-path",
                None,
                length,
                Some(spot),
            ));
        }
        let calls: Vec<Spot> = (self.plan.marks.iter())
            .filter(|mark| mark.kind == crate::MarkKind::CallSpot)
            .map(|mark| Spot { level: mark.level.clone(), at: mark.at })
            .collect();
        if !calls.is_empty()
            && let Some((length, spot)) = self.farthest(&self.network.nearest(&calls, &self.spots))
        {
            checks.push(self.at_most(
                "walk to the nearest call spot",
                "call-spot",
                None,
                length,
                Some(spot),
            ));
        }
    }

    /// The most remote of the spots that can be reached at all.
    pub(super) fn farthest(&self, lengths: &[f64]) -> Option<(f64, Spot)> {
        let reached = lengths.iter().zip(&self.spots).filter(|(length, _)| length.is_finite());
        let (length, spot) = reached.max_by(|a, b| a.0.total_cmp(b.0).then(b.1.cmp(a.1)))?;
        Some((*length, spot.clone()))
    }

    /// Among rooms with exactly one door, the farthest any place is from it.
    fn pocket(&self) -> Option<(f64, Spot)> {
        let mut doors: BTreeMap<usize, Vec<Spot>> = BTreeMap::new();
        for floor in &self.floors.floors {
            for &(i, vertex) in &floor.doors {
                let Some(vertex) = vertex.filter(|_| self.plan.openings[i].leaf != Leaf::Window)
                else {
                    continue;
                };
                let at = crate::floor::whole(floor.mesh.points[vertex as usize]);
                let mut rooms: Vec<usize> = floor.rooms_around(vertex);
                rooms.sort_unstable();
                rooms.dedup();
                for room in rooms {
                    doors.entry(room).or_default().push(Spot { level: floor.level.clone(), at });
                }
            }
        }
        let single: BTreeMap<usize, Spot> = doors
            .into_iter()
            .filter(|(_, doors)| doors.len() == 1)
            .map(|(room, mut doors)| (room, doors.remove(0)))
            .collect();
        let sources: Vec<Spot> = single.values().cloned().collect();
        if sources.is_empty() {
            return None;
        }
        let lengths = self.network.nearest(&sources, &self.spots);
        let mut worst: Option<(f64, Spot)> = None;
        for (spot, &length) in self.spots.iter().zip(&lengths) {
            let Some(f) = self.floors.of(&spot.level) else { continue };
            let inside = self.floors.floors[f]
                .room_at(spot.at)
                .is_some_and(|room| single.contains_key(&room));
            if inside && length.is_finite() && worst.as_ref().is_none_or(|(l, _)| length > *l) {
                worst = Some((length, spot.clone()));
            }
        }
        worst
    }
}
