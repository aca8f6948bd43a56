//! Zones: which room and stop belongs to which, and how often each is owed a look.

use crate::drawing::{GAP_S, Part};
use crate::fields::{Edit, GAP_MIN};
use crate::model::{Model, Said};
use floorplan::ZoneId;
use words::drawing as said;

impl Model {
    /// A room takes its stops along into the zone.
    pub(crate) fn set_zone(&mut self, part: &Part, zone: &ZoneId) {
        if self.drawing.plan.zone(zone).is_none() {
            return;
        }
        self.change(|drawing| match part {
            Part::Room(id) | Part::Corner(id, _) => {
                let Some(index) = drawing.plan.rooms.iter().position(|it| it.id == *id) else {
                    return;
                };
                let level = drawing.plan.rooms[index].level.clone();
                let inside: Vec<bool> = (drawing.plan.stops.iter())
                    .map(|stop| {
                        stop.level.as_ref() == Some(&level)
                            && stop.at.is_some_and(|at| drawing.room_at(&level, at) == Some(index))
                    })
                    .collect();
                drawing.plan.rooms[index].zone = Some(zone.clone());
                let stops = drawing.plan.stops.iter_mut().zip(inside);
                stops.filter(|(_, inside)| *inside).for_each(|(it, _)| it.zone = zone.clone());
            }
            Part::Stop(id) => {
                let stop = drawing.plan.stops.iter_mut().find(|it| it.id == *id);
                stop.into_iter().for_each(|it| it.zone = zone.clone());
            }
            _ => {}
        });
        self.zone = Some(zone.clone());
    }

    pub(crate) fn zone_field(&mut self, edit: Edit) {
        self.change(|drawing| {
            let zones = &mut drawing.plan.zones;
            match edit {
                Edit::ZoneName(id, name) if !name.trim().is_empty() => {
                    let zone = zones.iter_mut().find(|it| it.id == id);
                    zone.into_iter().for_each(|it| name.trim().clone_into(&mut it.name));
                }
                Edit::ZoneGap(id, minutes) => {
                    let gap_s = minutes.clamp(GAP_MIN.0, GAP_MIN.1) * 60;
                    let zone = zones.iter_mut().find(|it| it.id == id);
                    zone.into_iter().for_each(|it| it.gap_s = gap_s);
                }
                Edit::ZoneKind(id, kind) => {
                    let zone = zones.iter_mut().find(|it| it.id == id);
                    zone.into_iter().for_each(|it| it.kind = kind);
                }
                _ => {}
            }
        });
    }

    pub(crate) fn add_zone(&mut self) {
        let (level, lang) = (self.level.clone(), self.lang);
        let gap_s = self.zone_now().and_then(|id| self.drawing.plan.zone(&id)).map(|z| z.gap_s);
        let zone = self.change(|drawing| {
            let name = said::name_zone(lang, drawing.plan.zones.len() as i64 + 1);
            drawing.add_zone(&name, Some(level), gap_s.unwrap_or(GAP_S))
        });
        self.zone = Some(zone);
    }

    pub(crate) fn remove_zone(&mut self, zone: &ZoneId) {
        let other = self.drawing.plan.zones.iter().find(|it| it.id != *zone);
        let Some(other) = other.map(|it| it.id.clone()) else {
            self.said = Some(Said::LastOne);
            return;
        };
        self.change(|drawing| {
            let plan = &mut drawing.plan;
            plan.zones.retain(|it| it.id != *zone);
            let rooms = plan.rooms.iter_mut().filter(|it| it.zone.as_ref() == Some(zone));
            rooms.for_each(|it| it.zone = Some(other.clone()));
            let stops = plan.stops.iter_mut().filter(|it| it.zone == *zone);
            stops.for_each(|it| it.zone = other.clone());
        });
    }
}
