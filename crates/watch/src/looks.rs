//! Looks: the moments at which a zone was recorded as seen, ordered per zone so that a late one finds
//! its place in logarithmic time.

use crate::corrections::Effective;
use crate::kept::{Kept, Via};
use crate::time::Written;
use ledger::LineId;
use ledger::order::Map;
use record::{EmergencyStage, Entry, HowSeen, StopId, ZoneId};
use serde::Serialize;
use std::collections::BTreeSet;

/// One look at a zone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Look {
    /// Which line, who, when.
    pub written: Written,
    /// At which stop.
    pub stop: Option<StopId>,
    /// How presence was confirmed.
    pub how: How,
    /// In which round.
    pub round: Option<u32>,
    /// What must be said beside it wherever it is shown.
    pub marks: Marks,
}

/// How presence was confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// A tag at the stop was read.
    Tag,
    /// A position outdoors was close enough.
    Position,
    /// The guard said so.
    Hand,
    /// Another entry was made there: an observation, a permit, a stamp of the emergency card.
    Entry,
}

/// What must be said beside a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Marks {
    /// Its time was given afterwards.
    pub late_entered: bool,
    /// Time or place were corrected.
    pub corrected: bool,
    /// Told by telephone.
    pub phoned_in: bool,
    /// Typed from paper.
    pub paper: bool,
}

impl Marks {
    pub(crate) fn of(kept: &Kept, effective: &Effective) -> Marks {
        Marks {
            late_entered: effective.at_ms < kept.clk.recorded_ms(),
            corrected: effective.corrected_by.is_some(),
            phoned_in: kept.via == Via::PhonedIn,
            paper: kept.via == Via::Paper,
        }
    }
}

/// How an entry shows that somebody was in its zone, if it does. A refused stop and a call that
/// names a place do not.
pub(crate) fn how_of(entry: &Entry) -> Option<How> {
    match entry {
        Entry::Seen(body) => Some(match body.how {
            HowSeen::Tag => How::Tag,
            HowSeen::Position => How::Position,
            HowSeen::Hand => How::Hand,
        }),
        Entry::Emergency(body) if body.stage == EmergencyStage::Seen => Some(How::Entry),
        Entry::Observed(_)
        | Entry::HotWorkPermitted(_)
        | Entry::HotWorkBegan(_)
        | Entry::LookedBack(_)
        | Entry::EquipmentChecked(_) => Some(How::Entry),
        _ => None,
    }
}

/// The looks that count, by zone and time.
#[derive(Debug, Clone, Default)]
pub(crate) struct Looks {
    zones: Map<ZoneId, BTreeSet<(i64, LineId)>>,
}

impl Looks {
    pub(crate) fn add(&mut self, kept: &Kept, effective: &Effective) {
        if let Some(zone) = zone(kept, effective) {
            self.zones.or_default(zone.clone()).insert((effective.at_ms, kept.id));
        }
    }

    pub(crate) fn remove(&mut self, kept: &Kept, effective: &Effective) {
        let Some(zone) = zone(kept, effective) else { return };
        if let Some(looks) = self.zones.get_mut(zone) {
            looks.remove(&(effective.at_ms, kept.id));
        }
    }

    /// The looks at a zone, newest first.
    pub(crate) fn newest_first(&self, zone: &ZoneId) -> impl Iterator<Item = (i64, LineId)> {
        self.zones.get(zone).into_iter().flat_map(|looks| looks.iter().rev().copied())
    }

    pub(crate) fn count(&self) -> usize {
        self.zones.values().map(BTreeSet::len).sum()
    }
}

fn zone<'e>(kept: &Kept, effective: &'e Effective) -> Option<&'e ZoneId> {
    how_of(&kept.said)?;
    match effective.withdrawn_by {
        None => effective.zone.as_ref(),
        Some(_) => None,
    }
}
