//! Hot work against what sparks can reach: straight distance, on its own level and through the floors above and below.

use super::equipment::{holds, named, spot};
use super::{Check, Surveying, cited};
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
                    let what = format!("{} to {}", named(work), named(near));
                    self.apart(&what, work, &near.level, near.at, checks);
                }
            }
            for opening in self.plan.openings.iter().filter(|opening| opening.leaf != Leaf::Window)
            {
                let [a, b] = opening.line;
                let middle = Point::new((a.x + b.x) / 2, (a.y + b.y) / 2);
                let what = format!("{} to the opening {}", named(work), opening.id);
                self.apart(&what, work, &opening.level, middle, checks);
            }
            let able = |e: &&Equipment| {
                e.kind == EquipmentKind::Extinguisher && holds(e, 'A') && holds(e, 'B')
            };
            let able: Vec<Spot> = self.plan.equipment.iter().filter(able).map(spot).collect();
            let length = self.network.nearest(&able, &[spot(work)])[0];
            let what = format!("walk from {} to an extinguisher of Classes A and B", named(work));
            checks.push(self.at_most(
                &what,
                "hot-work-extinguisher",
                None,
                length,
                Some(spot(work)),
            ));
        }
    }

    /// Notes what is closer than the limit.
    fn apart(
        &self,
        what: &str,
        work: &Equipment,
        level: &LevelId,
        at: Point,
        checks: &mut Vec<Check>,
    ) {
        let Some((limit, value)) = self.limits.find("hot-work-distance", self.at, None) else {
            return;
        };
        let Some(bound) = value.at_least.map(|bound| limit.in_mm(bound)) else { return };
        let height = |id: &LevelId| {
            self.plan.levels.iter().find(|l| l.id == *id).map_or(0, |l| l.elevation_mm)
        };
        let rise = (height(level) - height(&work.level)) as f64;
        let (dx, dy) = ((at.x - work.at.x) as f64, (at.y - work.at.y) as f64);
        let flat = libm::sqrt(dx * dx + dy * dy);
        // Horizontally or vertically: on another level both must be within reach.
        let measured = flat.max(rise.abs());
        let near = measured < bound;
        // What is far away is told only for combustibles of the same level: they may be moved.
        let told =
            *level == work.level && measured <= bound * 2.0 && !what.contains(" the opening ");
        if near || told {
            let place = Some(Spot { level: level.clone(), at });
            let (what, source) = (what.to_owned(), cited(limit, value));
            checks.push(Check {
                what,
                measured_mm: measured,
                limit_mm: Some(bound),
                source,
                ok: Some(!near),
                place,
            });
        }
    }
}
