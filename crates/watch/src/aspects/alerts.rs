//! Alerts of the server, who took them, and devices that were not heard from.

use crate::fold::Item;
use crate::time::Written;
use ledger::{DeviceId, LineId, PersonId};
use record::{Acknowledged, AlertCause, Alerted, Channel, ZoneId};
use serde::Serialize;

/// An alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Alert {
    /// The line.
    pub written: Written,
    /// Why.
    pub cause: AlertCause,
    /// Which zone.
    pub zone: Option<ZoneId>,
    /// When it was due, ms UTC.
    pub due_ms: i64,
    /// Its step.
    pub step: u16,
    /// By which way.
    pub channel: Channel,
    /// To whom.
    pub to: Option<PersonId>,
    /// About which line.
    pub of: Option<LineId>,
    /// A later line showed that all was well.
    pub withdrawn: bool,
    /// Who took it.
    pub acknowledged: Option<Written>,
}

/// A device had not been heard from although something was due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unheard {
    /// The line.
    pub written: Written,
    /// Which device.
    pub device: Option<DeviceId>,
    /// What was due.
    pub zone: Option<ZoneId>,
    /// Last heard, ms UTC.
    pub since_ms: i64,
    /// When it was due, ms UTC.
    pub due_ms: i64,
}

#[derive(Default)]
pub(crate) struct Fold {
    alerts: Vec<Alert>,
    taken: Vec<(LineId, Written)>,
    unheard: Vec<Unheard>,
}

impl Fold {
    pub(crate) fn alerted(&mut self, item: &Item<'_>, body: &Alerted) {
        self.alerts.push(Alert {
            written: item.written.clone(),
            cause: body.cause,
            zone: body.zone.clone(),
            due_ms: body.due_ms,
            step: body.step,
            channel: body.channel,
            to: body.to.clone(),
            of: body.of,
            withdrawn: body.withdrawn,
            acknowledged: None,
        });
    }

    pub(crate) fn acknowledged(&mut self, item: &Item<'_>, body: &Acknowledged) {
        self.taken.push((body.alert, item.written.clone()));
    }

    pub(crate) fn unheard(&mut self, item: &Item<'_>, body: &record::Unheard) {
        self.unheard.push(Unheard {
            written: item.written.clone(),
            device: body.device,
            zone: body.zone.clone(),
            since_ms: body.since_ms,
            due_ms: body.due_ms,
        });
    }

    pub(crate) fn finish(self) -> (Vec<Alert>, Vec<Unheard>) {
        let Fold { mut alerts, taken, unheard } = self;
        for alert in &mut alerts {
            let id = alert.written.line;
            alert.acknowledged =
                taken.iter().find(|(of, _)| *of == id).map(|(_, written)| written.clone());
        }
        (alerts, unheard)
    }
}
