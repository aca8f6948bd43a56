//! Who was told what, what was ordered, and notes.

use crate::fold::Item;
use crate::time::Written;
use ledger::{Digest, LineId};
use record::{DemandFrom, Means, Notified, OrderReceived, Party, System, ZoneId};
use serde::Serialize;
use std::collections::BTreeMap;

/// Somebody was told something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Communication {
    /// The line.
    pub written: Written,
    /// Who.
    pub party: Party,
    /// How.
    pub means: Means,
    /// About which line.
    pub of: Option<LineId>,
    /// Whether they were reached.
    pub reached: bool,
}

/// A party was told of an impairment or of its end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Notification {
    /// The line.
    pub written: Written,
    /// Who.
    pub party: Party,
    /// How.
    pub means: Means,
    /// About which system.
    pub system: Option<System>,
    /// Told of the end.
    pub restored: bool,
}

/// A written instruction.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Order {
    /// The line.
    pub written: Written,
    /// From whom.
    pub from: DemandFrom,
    /// Its number.
    pub number: Option<String>,
    /// Whether it is in writing.
    pub in_writing: bool,
    /// A picture or file of it.
    pub blob: Option<Digest>,
    /// Longest gaps that it sets, s.
    pub gaps_s: BTreeMap<ZoneId, u32>,
    /// Fewest people that it asks for.
    pub people_at_least: Option<u16>,
    /// Until when it asks for a watch, ms UTC.
    pub watch_until_ms: Option<i64>,
}

/// Words about a line or about the night.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Note {
    /// The line.
    pub written: Written,
    /// The line that it belongs to.
    pub of: Option<LineId>,
}

#[derive(Default)]
pub(crate) struct Fold(Communications);

/// What was said and written.
#[derive(Default)]
pub(crate) struct Communications {
    pub(crate) told: Vec<Communication>,
    pub(crate) notified: Vec<Notification>,
    pub(crate) orders: Vec<Order>,
    pub(crate) notes: Vec<Note>,
}

impl Fold {
    pub(crate) fn told(&mut self, item: &Item<'_>, body: &record::Communication) {
        self.0.told.push(Communication {
            written: item.written.clone(),
            party: body.party,
            means: body.means,
            of: body.of,
            reached: body.reached,
        });
    }

    pub(crate) fn notified(&mut self, item: &Item<'_>, body: &Notified) {
        self.0.notified.push(Notification {
            written: item.written.clone(),
            party: body.party,
            means: body.means,
            system: body.system,
            restored: body.restored,
        });
    }

    pub(crate) fn order(&mut self, item: &Item<'_>, body: &OrderReceived) {
        self.0.orders.push(Order {
            written: item.written.clone(),
            from: body.from,
            number: body.number.clone(),
            in_writing: body.written,
            blob: body.blob,
            gaps_s: body.gaps_s.clone(),
            people_at_least: body.people_at_least,
            watch_until_ms: body.watch_until_ms,
        });
    }

    pub(crate) fn note(&mut self, item: &Item<'_>, body: &record::Note) {
        self.0.notes.push(Note { written: item.written.clone(), of: body.of });
    }

    pub(crate) fn finish(&mut self) -> Communications {
        std::mem::take(&mut self.0)
    }
}
