//! Emergencies: the stamps of the card, in earnest or in a drill.

use crate::fold::Item;
use crate::time::Written;
use record::{EmergencyStage, StopId, ZoneId};
use serde::Serialize;

/// One emergency: the stamps from the first to the word that it is over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Emergency {
    /// Its stamps, in the order in which they are stated to have happened.
    pub stamps: Vec<Stamp>,
    /// In a drill.
    pub drill: bool,
    /// The first zone that was named.
    pub zone: Option<ZoneId>,
    /// From when until when it stopped the rounds, ms UTC; no end while it lasts. None if nothing
    /// more than the card was opened, or in a drill.
    pub rounds_stopped: Option<(i64, Option<i64>)>,
}

/// A stamp of the card.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stamp {
    /// The line.
    pub written: Written,
    /// Which.
    pub stage: EmergencyStage,
    /// The last stop before.
    pub stop: Option<StopId>,
    /// The zone, if said.
    pub zone: Option<ZoneId>,
}

impl Emergency {
    /// Whether it is more than an opened card.
    pub fn is_called(&self) -> bool {
        self.stamps.iter().any(|stamp| stamp.stage != EmergencyStage::Opened)
    }

    /// Whether it is in earnest and not yet said to be over.
    pub fn is_open(&self) -> bool {
        self.is_called() && !self.drill && self.at(EmergencyStage::StoodDown).is_none()
    }

    /// The first stamp of a stage.
    pub fn at(&self, stage: EmergencyStage) -> Option<&Stamp> {
        self.stamps.iter().find(|stamp| stamp.stage == stage)
    }
}

#[derive(Default)]
pub(crate) struct Fold {
    emergencies: Vec<Emergency>,
}

impl Fold {
    pub(crate) fn stamp(&mut self, item: &Item<'_>, body: &record::Emergency) {
        let stamp = Stamp {
            written: item.written.clone(),
            stage: body.stage,
            stop: item.effective.stop.clone(),
            zone: item.effective.zone.clone(),
        };
        match self.emergencies.last_mut() {
            Some(last) if last.takes(body) => last.stamps.push(stamp),
            _ => self.emergencies.push(Emergency {
                stamps: vec![stamp],
                drill: body.drill,
                zone: None,
                rounds_stopped: None,
            }),
        }
    }

    pub(crate) fn finish(&mut self) -> Vec<Emergency> {
        let mut emergencies = std::mem::take(&mut self.emergencies);
        for emergency in &mut emergencies {
            emergency.zone = emergency.stamps.iter().find_map(|stamp| stamp.zone.clone());
            emergency.rounds_stopped = emergency.rounds_stopped();
        }
        emergencies
    }
}

impl Emergency {
    fn takes(&self, body: &record::Emergency) -> bool {
        let over = self.at(EmergencyStage::StoodDown).is_some();
        let only_opened = !self.is_called() && body.stage == EmergencyStage::Opened;
        !over && !only_opened && self.drill == body.drill
    }

    /// From the moment the fire was seen or called until the engine is there or it is over.
    fn rounds_stopped(&self) -> Option<(i64, Option<i64>)> {
        if self.drill {
            return None;
        }
        let begins = |stage| {
            matches!(
                stage,
                EmergencyStage::Seen
                    | EmergencyStage::Called
                    | EmergencyStage::Alarmed
                    | EmergencyStage::Out
            )
        };
        let ends = |stage| matches!(stage, EmergencyStage::EngineHere | EmergencyStage::StoodDown);
        let first = |wanted: &dyn Fn(EmergencyStage) -> bool| {
            self.stamps
                .iter()
                .filter(|stamp| wanted(stamp.stage))
                .map(|stamp| stamp.written.when.at_ms)
                .min()
        };
        let from_ms = first(&begins)?;
        Some((from_ms, first(&ends).map(|end_ms| end_ms.max(from_ms))))
    }
}
