//! Holds: nothing is erased while one stands. An emergency in earnest sets one by itself.

use super::emergencies::Emergency;
use crate::fold::Item;
use crate::time::Written;
use ledger::{LineId, order};
use record::{EmergencyStage, HoldLifted, HoldSet};
use serde::Serialize;

/// A hold on erasure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hold {
    /// The line that set it: a hold line, or the stamp of the emergency that set it by itself.
    pub set: Written,
    /// The emergency's stamp, if one is the cause.
    pub cause: Option<LineId>,
    /// The line that lifted it.
    pub lifted: Option<Written>,
}

#[derive(Default)]
pub(crate) struct Fold {
    set: Vec<(Written, Option<LineId>)>,
    lifted: Vec<(LineId, Written)>,
}

impl Fold {
    pub(crate) fn set(&mut self, item: &Item<'_>, body: &HoldSet) {
        self.set.push((item.written.clone(), body.cause));
    }

    pub(crate) fn lifted(&mut self, item: &Item<'_>, body: &HoldLifted) {
        self.lifted.push((body.hold, item.written.clone()));
    }

    pub(crate) fn finish(self, emergencies: &[Emergency]) -> Vec<Hold> {
        let mut holds: Vec<Hold> = emergencies
            .iter()
            .filter(|emergency| emergency.is_called() && !emergency.drill)
            .filter_map(|emergency| {
                let first =
                    emergency.stamps.iter().find(|stamp| stamp.stage != EmergencyStage::Opened)?;
                Some(Hold {
                    set: first.written.clone(),
                    cause: Some(first.written.line),
                    lifted: None,
                })
            })
            .collect();
        holds.extend(self.set.into_iter().map(|(set, cause)| Hold { set, cause, lifted: None }));
        for hold in &mut holds {
            let line = hold.set.line;
            hold.lifted =
                self.lifted.iter().find(|(of, _)| *of == line).map(|(_, lifted)| lifted.clone());
        }
        order::sort_by_key(&mut holds, |hold| (hold.set.when.at_ms, hold.set.line));
        holds
    }
}
