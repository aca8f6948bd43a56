//! Phone and paper side by side: what the phone recorded of a zone within a window.

use super::Paper;
use crate::page::time;
use record::ZoneId;
use sheet::{BoxRead, Window, ZoneRef};
use watch::Via;

/// One row of a sheet, with what stands on the phone and on paper.
pub(super) struct Row {
    /// Its number on the page, from 0.
    pub(super) number: usize,
    pub(super) window: Option<Window>,
    pub(super) says: String,
    pub(super) cells: Vec<Cell>,
}

/// One zone of a row.
pub(super) struct Cell {
    pub(super) zone: ZoneId,
    pub(super) name: String,
    /// The times at which the phone recorded it as seen, within the window.
    pub(super) phone: Vec<String>,
    /// Times that were typed from paper already.
    pub(super) typed: Vec<String>,
    pub(super) ticked: bool,
    pub(super) unsure: bool,
}

/// The rows of a sheet that fits this watch.
pub(super) fn rows(paper: &Paper) -> Vec<Row> {
    if !paper.fits() {
        return Vec::new();
    }
    let boxes = &paper.reading.boxes;
    boxes.chunk_by(|a, b| a.row == b.row).map(|row| paper.row(row)).collect()
}

impl Paper {
    fn row(&self, boxes: &[BoxRead]) -> Row {
        let tz = self.seen.tz();
        let (number, window) = (boxes[0].row, boxes[0].window);
        let says = window.map_or((number + 1).to_string(), |window| {
            format!("{}–{}", time::clock(window.from_ms, &tz), time::clock(window.until_ms, &tz))
        });
        let cells = boxes.iter().filter_map(|one| {
            let zone = self.zone(&one.zone)?;
            Some(Cell {
                name: self.seen.live.documents.zone(&zone).to_owned(),
                phone: self.looks(&zone, window, |via| via != Via::Paper),
                typed: self.looks(&zone, window, |via| via == Via::Paper),
                ticked: one.ticked && !one.unsure,
                unsure: one.unsure,
                zone,
            })
        });
        Row { number, window, says, cells: cells.collect() }
    }

    /// The zone of this watch that a column names.
    fn zone(&self, named: &ZoneRef) -> Option<ZoneId> {
        let zones = &self.seen.state.zones;
        zones.iter().map(|zone| &zone.id).find(|id| named.names(id)).cloned()
    }

    fn looks(&self, zone: &ZoneId, window: Option<Window>, via: fn(Via) -> bool) -> Vec<String> {
        let (Some(window), Some(zone)) = (window, self.seen.state.zone(zone)) else {
            return Vec::new();
        };
        let tz = self.seen.tz();
        zone.looks
            .iter()
            .filter(|look| via(look.written.via))
            .map(|look| look.written.when.at_ms)
            .filter(|at_ms| (window.from_ms..window.until_ms).contains(at_ms))
            .map(|at_ms| time::clock(at_ms, &tz))
            .collect()
    }
}
