//! The log: a row for each due window, a column of tick boxes for each zone.

use super::head::BELOW;
use super::legend::LEGEND_HEIGHT;
use super::{Drawing, Part, Style};
use crate::code::{BOX_SIDE, Grid};
use crate::columns::Column;
use crate::filled::FilledRow;
use crate::item::{Ink, Item};
use crate::page_size::PageSize;
use words::{duration_words, sheet};

/// Height of the row with the names of the columns.
const HEAD_HEIGHT: i32 = 130;
/// Height of a row at least: room for a hand in gloves.
const ROW_HEIGHT: i32 = 70;
/// Height of a row at most.
const ROW_HEIGHT_MAX: i32 = 95;
/// Above the foot.
const FOOT_HEIGHT: i32 = 150;
/// Outline of a box that may wait.
const THIN: i32 = 4;
/// Outline of a box that is due by the end of its row.
const THICK: i32 = 8;

/// How many rows fit on a page.
pub(super) fn rows_max(size: PageSize) -> usize {
    (room(size) / ROW_HEIGHT) as usize
}

fn room(size: PageSize) -> i32 {
    size.extent().1 - FOOT_HEIGHT - LEGEND_HEIGHT - BELOW - HEAD_HEIGHT
}

/// Where the boxes of a part stand.
pub(super) fn grid(drawing: &Drawing<'_>, part: &Part) -> Grid {
    let (x, width) = drawing.place_of(Column::Zones);
    let dx = width / part.zones.len().max(1) as i32;
    let tonight = drawing.tonight;
    let rows = part.rows.len().max(1) as i32;
    let dy = (room(drawing.size) / rows).clamp(ROW_HEIGHT, ROW_HEIGHT_MAX);
    Grid {
        x: x + (dx - BOX_SIDE) / 2,
        y: BELOW + HEAD_HEIGHT + (dy - BOX_SIDE) / 2,
        dx,
        dy,
        rows: part.rows.len() as u16,
        from_ms: tonight.window_ms(part.rows.start).map(|(from_ms, _)| from_ms),
        step_s: tonight.step_s,
        zones: part.zone_refs(tonight),
    }
}

impl Drawing<'_> {
    /// Left edge and width of a column.
    fn place_of(&self, column: Column) -> (i32, i32) {
        let (left, right) = self.edges();
        let fixed: i32 = self.columns.order().iter().map(|column| column.width()).sum();
        let width = |column: &Column| match column {
            Column::Zones => right - left - fixed,
            other => other.width(),
        };
        let before = self.columns.order().iter().take_while(|other| **other != column);
        (left + before.map(width).sum::<i32>(), width(&column))
    }

    pub(super) fn log(&mut self, part: &Part, grid: &Grid) {
        self.column_heads(part, grid);
        let top = BELOW + HEAD_HEIGHT;
        for (place, row) in part.rows.clone().enumerate() {
            let y = top + grid.dy * place as i32;
            let ink = if place == 0 { Ink::Ink } else { Ink::Line };
            self.rule(y, if place == 0 { 6 } else { 2 }, ink);
            self.row(part, grid, row, y);
        }
        let bottom = top + grid.dy * part.rows.len() as i32;
        self.rule(bottom, 4, Ink::Ink);
        for column in self.columns.order().iter().skip(1) {
            let (x, _) = self.place_of(*column);
            let line = Item::Line { from: (x, BELOW), to: (x, bottom), weight: 2, ink: Ink::Line };
            self.items.push(line);
        }
    }

    fn column_heads(&mut self, part: &Part, grid: &Grid) {
        let lang = self.lang;
        for column in self.columns.order() {
            let (x, w) = self.place_of(*column);
            let word = match column {
                Column::Window => sheet::column_window(lang),
                Column::Start => sheet::column_start(lang),
                Column::End => sheet::column_end(lang),
                Column::Initials => sheet::initials(lang),
                Column::Codes => sheet::column_codes(lang),
                Column::Zones => continue,
            };
            self.text((x + 8, BELOW + 8, w - 16, HEAD_HEIGHT - 16), Style::bold(80), word);
        }
        let tonight = self.tonight;
        for (place, zone) in tonight.zones[part.zones.clone()].iter().enumerate() {
            let x = grid.x + BOX_SIDE / 2 - grid.dx / 2 + grid.dx * place as i32;
            let style = Style::bold(80).middle();
            self.text((x + 4, BELOW + 6, grid.dx - 8, HEAD_HEIGHT - 44), style, &zone.name);
            let gap = match zone.gap_s {
                Some(gap_s) => duration_words(i64::from(gap_s)),
                None => sheet::no_gap(lang).to_owned(),
            };
            let place = (x + 4, BELOW + HEAD_HEIGHT - 38, grid.dx - 8, 30);
            self.text(place, Style::soft(70).middle(), gap);
        }
    }

    fn row(&mut self, part: &Part, grid: &Grid, row: usize, y: i32) {
        let tonight = self.tonight;
        let filled = tonight.filled.as_ref().and_then(|filled| filled.rows.get(row));
        let Some(printed) = tonight.rows.get(row) else { return };
        let (x, w) = self.place_of(Column::Window);
        if self.columns.order().contains(&Column::Window) {
            self.text((x + 6, y + (grid.dy - 36) / 2, w - 12, 40), Style::mono(85), &printed.says);
        }
        for (place, zone) in part.zones.clone().enumerate() {
            let due = printed.due.get(zone).copied().unwrap_or(false);
            let at = (grid.x + grid.dx * place as i32, y + (grid.dy - BOX_SIDE) / 2);
            let weight = if due { THICK } else { THIN };
            self.frame((at.0, at.1, BOX_SIDE, BOX_SIDE), weight, Ink::Ink);
            if filled.is_some_and(|row| row.ticked.get(zone) == Some(&true)) {
                self.tick(at);
            }
        }
        if let Some(filled) = filled {
            self.filled_row(filled, y, grid.dy);
        }
    }

    fn filled_row(&mut self, row: &FilledRow, y: i32, dy: i32) {
        let initials = match row.told_later {
            true => sheet::initials_later(self.lang, &row.initials),
            false => row.initials.clone(),
        };
        let cells = [
            (Column::Start, &row.start),
            (Column::End, &row.end),
            (Column::Initials, &initials),
            (Column::Codes, &row.codes),
        ];
        for (column, text) in cells {
            if self.columns.order().contains(&column) {
                let (x, w) = self.place_of(column);
                // Initials with a mark take two lines.
                let above =
                    if row.told_later && column == Column::Initials { 6 } else { (dy - 36) / 2 };
                self.text((x + 6, y + above, w - 12, dy - above - 4), Style::filled(85), text);
            }
        }
    }

    /// A tick as a hand makes it, within the box.
    fn tick(&mut self, (x, y): (i32, i32)) {
        let points = [(x + 13, y + 26), (x + 22, y + 37), (x + 38, y + 12)];
        for pair in points.windows(2) {
            self.items.push(Item::Line { from: pair[0], to: pair[1], weight: 6, ink: Ink::Ink });
        }
    }
}
