//! A page as it was read, and its rows as zones of this watch.

use ledger::Digest;
use record::ZoneId;
use serde::Deserialize;
use watch::State;

/// A page as it was read: those members of `docs/paper-sheet.md` that are used here.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub(crate) struct Reading {
    code: Option<String>,
    pub(crate) page: Option<u32>,
    pub(crate) of: Option<u32>,
    boxes: Vec<BoxRead>,
    faults: Vec<FaultRead>,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
struct BoxRead {
    row: u32,
    zone: Option<ZoneId>,
    zone_digest: Option<String>,
    window: Option<Window>,
    ticked: bool,
    unsure: bool,
}

/// When a row was due.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub(crate) struct Window {
    pub(super) from_ms: i64,
    until_ms: i64,
    pub(crate) says: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
struct FaultRead {
    says: String,
}

/// One row with something to say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    /// Its number on the page, from 1.
    pub(crate) number: u32,
    pub(crate) window: Option<Window>,
    /// Each zone of this watch: whether it looks ticked, whether that is unsure.
    pub(crate) zones: Vec<(ZoneId, bool, bool)>,
}

impl Reading {
    /// What does not fit, in words; none on a sheet of this watch.
    pub(crate) fn fault(&self) -> Option<&str> {
        self.faults.first().map(|fault| fault.says.as_str())
    }

    /// Whether it is a sheet of ours.
    pub(crate) fn is_sheet(&self) -> bool {
        self.code.is_some()
    }

    /// Boxes that are surely ticked, and those somebody must look at.
    pub(crate) fn counts(&self) -> (usize, usize) {
        let unsure = self.boxes.iter().filter(|one| one.unsure).count();
        (self.boxes.iter().filter(|one| one.ticked && !one.unsure).count(), unsure)
    }

    /// The rows on which something is or may be ticked.
    pub(crate) fn rows(&self, state: &State) -> Vec<Row> {
        let by_row = self.boxes.chunk_by(|a, b| a.row == b.row);
        let rows = by_row.map(|boxes| Row {
            number: boxes[0].row,
            window: boxes[0].window.clone(),
            zones: boxes
                .iter()
                .filter_map(|one| Some((one.zone(state)?, one.ticked, one.unsure)))
                .collect(),
        });
        rows.filter(|row| row.zones.iter().any(|(_, ticked, unsure)| *ticked || *unsure)).collect()
    }

    /// Minutes by which the times on the page are ahead of UTC: the seventh field of the sheet code.
    pub(super) fn offset_min(&self) -> Option<i64> {
        self.code.as_ref()?.split('/').nth(6)?.parse().ok()
    }
}

impl BoxRead {
    fn zone(&self, state: &State) -> Option<ZoneId> {
        let named = |id: &ZoneId| match (&self.zone, &self.zone_digest) {
            (Some(zone), _) => zone == id,
            (None, Some(digits)) => {
                Digest::of(id.as_str().as_bytes()).to_string().starts_with(digits)
            }
            (None, None) => false,
        };
        state.zones.iter().map(|zone| &zone.id).find(|id| named(id)).cloned()
    }
}
