//! Rooms nobody can walk to. People come in by the exits; a plan without any is walked from its largest room that can
//! be left.

use super::{Missing, Surveying, Unreachable};
use crate::import::border;
use crate::network::Spot;
use std::collections::BTreeMap;

impl Surveying<'_> {
    pub(super) fn unreachable(&self) -> Vec<Unreachable> {
        let lengths = self.network.entered(&self.standing);
        let mut seen: BTreeMap<usize, bool> = BTreeMap::new();
        for (spot, length) in self.spots.iter().zip(&lengths) {
            let Some(f) = self.floors.of(&spot.level) else { continue };
            if let Some(room) = self.floors.floors[f].room_at(spot.at) {
                *seen.entry(room).or_insert(false) |= length.is_finite();
            }
        }
        let lost = seen.into_iter().filter(|(_, reached)| !reached).map(|(room, _)| room);
        lost.filter_map(|room| self.lost(room)).collect()
    }

    fn lost(&self, room: usize) -> Option<Unreachable> {
        let it = &self.plan.rooms[room];
        let at = border::inside(&it.shape)?;
        let sides = border::sides(std::iter::once((0, &it.shape)));
        let door = self.plan.openings.iter().any(|opening| {
            let middle = opening.line[0].distance_mm(opening.line[1]) / 2;
            let touches = |p| {
                sides.iter().any(|side| border::distance(*side, p) < 30.0 + middle as f64 * 0.02)
            };
            opening.level == it.level && opening.line.iter().all(|&p| touches(p))
        });
        let stair = self
            .plan
            .links
            .iter()
            .any(|link| link.feet.iter().any(|foot| foot.level == it.level))
            || self.plan.openings.iter().any(|opening| opening.level == it.level && opening.exit)
            || self.plan.levels.len() == 1;
        let missing = match (door, stair) {
            (_, false) => Missing::Stair,
            (false, _) => Missing::Door,
            (true, true) => Missing::WayIn,
        };
        let f = self.floors.of(&it.level)?;
        let mesh = &self.floors.floors[f].mesh;
        let own =
            (0..mesh.triangles.len()).filter(|&t| self.floors.floors[f].room(t as u32) == room);
        let floor_m2 = own.map(|t| mesh.triangle_area(t)).sum::<f64>() / 1e6;
        Some(Unreachable {
            room: it.id.clone(),
            spot: Spot { level: it.level.clone(), at },
            floor_m2,
            missing,
        })
    }
}
