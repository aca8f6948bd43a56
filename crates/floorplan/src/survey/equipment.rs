//! Extinguishers by class and rating: walked distance, and floor for each.

use super::{Check, Surveying, What};
use crate::equipment::{Equipment, EquipmentKind};
use crate::network::Spot;

impl Surveying<'_> {
    pub(super) fn equipment(&self, checks: &mut Vec<Check>) {
        let extinguishers: Vec<&Equipment> =
            self.plan.equipment.iter().filter(|e| e.kind == EquipmentKind::Extinguisher).collect();
        if extinguishers.is_empty() {
            return;
        }
        let class_a: Vec<Spot> =
            extinguishers.iter().filter(|e| holds(e, 'A')).map(|e| spot(e)).collect();
        let lengths = self.network.nearest(&class_a, &self.standing);
        let (length, place) = match self.farthest(&lengths) {
            Some((length, place)) => (length, Some(place)),
            None => (f64::INFINITY, None),
        };
        checks.push(self.at_most(What::ClassATravel, length, place));
        let unserved = (self.spots.iter().zip(&lengths))
            .zip(self.network.entered(&self.standing))
            .find(|((_, length), walked)| length.is_infinite() && walked.is_finite());
        if let Some(((place, _), _)) = unserved {
            checks.push(self.at_most(What::ClassANone, f64::INFINITY, Some(place.clone())));
        }
        let each = self.floors.area_m2() * 1e6 / class_a.len().max(1) as f64;
        checks.push(self.at_most(What::ClassAArea, each, None));
        self.class_b(&extinguishers, checks);
    }

    fn class_b(&self, extinguishers: &[&Equipment], checks: &mut Vec<Check>) {
        let class_b: Vec<Spot> =
            extinguishers.iter().filter(|e| holds(e, 'B')).map(|e| spot(e)).collect();
        for hazard in self.plan.equipment.iter().filter(|e| e.kind == EquipmentKind::Flammable) {
            let standing = self.network.stand(&[spot(hazard)], &[]);
            let length = self.network.nearest(&class_b, &standing)[0];
            let of = named(hazard).to_owned();
            let check = self.at_most(What::ClassBTravel, length, Some(spot(hazard)));
            checks.push(Check { of, ..check });
        }
    }
}

/// Whether an extinguisher is rated for a class; one without a rating is taken as Class A only.
pub(super) fn holds(extinguisher: &Equipment, class: char) -> bool {
    if extinguisher.rating.is_empty() {
        class == 'A'
    } else {
        extinguisher.rating.to_ascii_uppercase().contains(class)
    }
}

pub(super) fn spot(equipment: &Equipment) -> Spot {
    Spot { level: equipment.level.clone(), at: equipment.at }
}

pub(super) fn named(equipment: &Equipment) -> &str {
    if equipment.name.is_empty() { equipment.id.as_str() } else { &equipment.name }
}
