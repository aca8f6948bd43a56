//! Observations: what was found, what was done, how long it stays open over how many reliefs.

use super::communications::Communications;
use super::questions::Question;
use super::shifts::Shifts;
use crate::fold::Item;
use crate::time::Written;
use ledger::{Digest, LineId};
use record::{
    Acted, ClosedObservation, HazardClass, MarkedFixed, Observed, Photo, PlaceId, Severity, Sound,
    StopId, WhatDone, ZoneId,
};
use serde::Serialize;

/// Something that was found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Observation {
    /// The line.
    pub written: Written,
    /// Its class.
    pub class: HazardClass,
    /// How bad, after corrections.
    pub severity: Severity,
    /// Where: the zone.
    pub zone: Option<ZoneId>,
    /// Where: the stop.
    pub stop: Option<StopId>,
    /// Where: a place from the site's list.
    pub place: Option<PlaceId>,
    /// The earlier observation that it repeats.
    pub again: Option<LineId>,
    /// What was done, oldest first.
    pub actions: Vec<Action>,
    /// Lines by which somebody was told of it.
    pub told: Vec<LineId>,
    /// Questions about it.
    pub asked: Vec<LineId>,
    /// Pictures and sounds of it.
    pub pictures: Vec<LineId>,
    /// The client says that it is put right.
    pub marked_fixed: Option<Written>,
    /// What closed it.
    pub closed: Option<Action>,
    /// How many reliefs it has been open over.
    pub reliefs: u32,
    /// How long it was or is open, ms.
    pub open_ms: i64,
}

/// Something that was done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Action {
    /// The line.
    pub written: Written,
    /// What.
    pub done: Vec<WhatDone>,
}

/// A picture or a sound, named by its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Picture {
    /// The line.
    pub written: Written,
    /// The line that it belongs to.
    pub of: Option<LineId>,
    /// The bytes.
    pub blob: Digest,
    /// Their number.
    pub len: u64,
    /// Media type.
    pub mime: String,
}

#[derive(Default)]
pub(crate) struct Fold {
    observations: Vec<Observation>,
    acted: Vec<(LineId, Action)>,
    closed: Vec<(LineId, Action)>,
    fixed: Vec<(LineId, Written)>,
    pictures: Vec<Picture>,
}

impl Fold {
    pub(crate) fn observed(&mut self, item: &Item<'_>, body: &Observed) {
        self.observations.push(Observation {
            written: item.written.clone(),
            class: body.class,
            severity: item.effective.severity.unwrap_or(body.severity),
            zone: item.effective.zone.clone(),
            stop: item.effective.stop.clone(),
            place: body.place.clone(),
            again: body.again,
            actions: Vec::new(),
            told: Vec::new(),
            asked: Vec::new(),
            pictures: Vec::new(),
            marked_fixed: None,
            closed: None,
            reliefs: 0,
            open_ms: 0,
        });
    }

    pub(crate) fn acted(&mut self, item: &Item<'_>, body: &Acted) {
        self.acted.push((body.of, Action::of(item, &body.done)));
    }

    pub(crate) fn closed(&mut self, item: &Item<'_>, body: &ClosedObservation) {
        self.closed.push((body.of, Action::of(item, &body.done)));
    }

    pub(crate) fn marked_fixed(&mut self, item: &Item<'_>, body: &MarkedFixed) {
        self.fixed.push((body.of, item.written.clone()));
    }

    pub(crate) fn photo(&mut self, item: &Item<'_>, body: &Photo) {
        self.pictures.push(Picture {
            written: item.written.clone(),
            of: body.of,
            blob: body.blob,
            len: body.len,
            mime: body.mime.clone(),
        });
    }

    pub(crate) fn sound(&mut self, item: &Item<'_>, body: &Sound) {
        self.pictures.push(Picture {
            written: item.written.clone(),
            of: body.of,
            blob: body.blob,
            len: body.len,
            mime: body.mime.clone(),
        });
    }

    pub(crate) fn finish(
        self,
        communications: &Communications,
        questions: &[Question],
        shifts: &Shifts,
        now_ms: i64,
    ) -> (Vec<Observation>, Vec<Picture>) {
        let Fold { mut observations, acted, closed, fixed, pictures } = self;
        for observation in &mut observations {
            let id = observation.written.line;
            let about = |of: &LineId| *of == id;
            observation.actions = acted
                .iter()
                .filter(|(of, _)| about(of))
                .map(|(_, action)| action.clone())
                .collect();
            observation.closed =
                closed.iter().find(|(of, _)| about(of)).map(|(_, action)| action.clone());
            observation.marked_fixed =
                fixed.iter().rfind(|(of, _)| about(of)).map(|(_, written)| written.clone());
            observation.pictures =
                pictures.iter().filter(|p| p.of == Some(id)).map(|p| p.written.line).collect();
            observation.told = communications
                .told
                .iter()
                .filter(|c| c.of == Some(id))
                .map(|c| c.written.line)
                .collect();
            observation.asked =
                questions.iter().filter(|q| q.of == Some(id)).map(|q| q.written.line).collect();
            observation.age(shifts, now_ms);
        }
        (observations, pictures)
    }
}

impl Observation {
    fn age(&mut self, shifts: &Shifts, now_ms: i64) {
        let from_ms = self.written.when.at_ms;
        let until_ms = self.closed.as_ref().map_or(now_ms, |closed| closed.written.when.at_ms);
        self.open_ms = (until_ms - from_ms).max(0);
        self.reliefs = shifts
            .shifts
            .iter()
            .filter(|shift| {
                shift.relief_taken.is_some() && shift.from_ms > from_ms && shift.from_ms <= until_ms
            })
            .count() as u32;
    }
}

impl Action {
    fn of(item: &Item<'_>, done: &[WhatDone]) -> Action {
        Action { written: item.written.clone(), done: done.to_vec() }
    }
}
