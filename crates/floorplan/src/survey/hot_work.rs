//! Hot work against what sparks can reach: straight distance, on its own level and through the floors above and below.

use super::equipment::{holds, named, spot};
use super::{Check, Surveying, What, cited};
use crate::equipment::{Equipment, EquipmentKind};
use crate::fabric::Leaf;
use crate::id::LevelId;
use crate::network::Spot;
use crate::shape::Point;

impl Surveying<'_> {
    pub(super) fn hot_work(&self, checks: &mut Vec<Check>) {
        for work in self.plan.equipment.iter().filter(|e| e.kind == EquipmentKind::HotWork) {
            for near in &self.plan.equipment {
                if matches!(near.kind, EquipmentKind::Combustible | EquipmentKind::Flammable) {
                    let place = Spot { level: near.level.clone(), at: near.at };
                    checks.extend(self.apart(What::HotWorkCombustible, work, named(near), place));
                }
            }
            for opening in self.plan.openings.iter().filter(|opening| opening.leaf != Leaf::Window)
            {
                let [a, b] = opening.line;
                let middle = Point::new((a.x + b.x) / 2, (a.y + b.y) / 2);
                let place = Spot { level: opening.level.clone(), at: middle };
                let name =
                    if opening.name.is_empty() { opening.id.as_str() } else { &opening.name };
                checks.extend(self.apart(What::HotWorkOpening, work, name, place));
            }
            let able = |e: &&Equipment| {
                e.kind == EquipmentKind::Extinguisher && holds(e, 'A') && holds(e, 'B')
            };
            let able: Vec<Spot> = self.plan.equipment.iter().filter(able).map(spot).collect();
            let standing = self.network.stand(&[spot(work)], &[]);
            let length = self.network.nearest(&able, &standing)[0];
            let check = self.at_most(What::HotWorkExtinguisher, length, Some(spot(work)));
            checks.push(Check { of: named(work).to_owned(), ..check });
        }
    }

    /// What is closer than the limit, and combustibles nearby.
    fn apart(&self, what: What, work: &Equipment, name: &str, place: Spot) -> Option<Check> {
        let (limit, value) = self.limits.find("hot-work-distance", self.at, None)?;
        let bound = value.at_least.map(|bound| limit.in_mm(bound))?;
        let height = |id: &LevelId| {
            self.plan.levels.iter().find(|l| l.id == *id).map_or(0, |l| l.elevation_mm)
        };
        let rise = (height(&place.level) - height(&work.level)) as f64;
        let (dx, dy) = ((place.at.x - work.at.x) as f64, (place.at.y - work.at.y) as f64);
        let flat = libm::sqrt(dx * dx + dy * dy);
        // Horizontally or vertically: on another level both must be within reach.
        let measured_mm = flat.max(rise.abs());
        let near = measured_mm < bound;
        // What is far away is told only for combustibles of the same level: they may be moved.
        let told = what == What::HotWorkCombustible
            && place.level == work.level
            && measured_mm <= bound * 2.0;
        (near || told).then(|| Check {
            what,
            of: named(work).to_owned(),
            to: name.to_owned(),
            measured_mm,
            limit_mm: Some(bound),
            source: cited(limit, value),
            ok: Some(!near),
            place: Some(place),
        })
    }
}
