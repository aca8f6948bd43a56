//! From a picture to what stands on the page: corner marks, straightening, sheet code, boxes.

mod boxes;
mod code;
mod dark;
mod faults;
mod homography;
mod json;
mod marks;
mod straighten;

pub use faults::{Expected, Fault, missing_pages};

use crate::{CodeFault, GrayPicture, SheetCode, ZoneRef};
use serde::Serialize;

/// What a picture turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A page of a log sheet of ours.
    Sheet,
    /// Any other page: its lines are typed beside the picture.
    Notepad,
}

/// What was read from a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// What it is.
    pub kind: Kind,
    /// The sheet code, if one of ours was read.
    pub code: Option<SheetCode>,
    /// The boxes, row by row.
    pub boxes: Vec<BoxRead>,
    /// What does not fit.
    pub faults: Vec<Fault>,
    /// The straightened page, eight pixels to the millimetre, if its marks were found.
    pub straightened: Option<GrayPicture>,
}

/// The window of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
}

/// One box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BoxRead {
    /// Row, from 0.
    pub row: usize,
    /// Column among the zones of the page, from 0.
    pub column: usize,
    /// The zone.
    pub zone: ZoneRef,
    /// When it was due; none if the terms state no gap.
    pub window: Option<Window>,
    /// It looks ticked.
    pub ticked: bool,
    /// It may be otherwise: somebody must look.
    pub unsure: bool,
    /// Strokes inside it, in thousandths of its inner area.
    pub ink_permille: u32,
    /// Left, upper edge, width and height on the straightened page, pixels.
    pub at: [u32; 4],
}

/// Reads a picture. Any picture is read: one that is no sheet of ours is a notepad page, and says so
/// only if a sheet was claimed or its marks are there.
pub fn read(picture: &GrayPicture, expected: &Expected) -> Reading {
    let quads = if picture.pixels().is_empty() { Vec::new() } else { marks::find(picture) };
    let mut strange = None;
    for quad in &quads {
        match code::find(picture, *quad) {
            Some(found) if found.code.is_ok() => return sheet(picture, found, expected),
            Some(found) => strange = strange.or(Some(found)),
            None => {}
        }
    }
    let (fault, straightened) = match (strange, quads.first()) {
        (Some(found), _) => {
            let page = straighten::page(picture, &found.map, found.size);
            (Some(Fault::of_code(found.code)), Some(page))
        }
        // Four marks by chance are rarer than a blurred sheet, but a claim decides.
        (None, Some(quad)) => {
            let size = likely_size(quad);
            let page =
                straighten::map(size, *quad).map(|map| straighten::page(picture, &map, size));
            (Some(Fault::CodeUnread), page)
        }
        (None, None) => (expected.is_sheet.then_some(Fault::NoMarks), None),
    };
    let faults = fault.into_iter().collect();
    Reading { kind: Kind::Notepad, code: None, boxes: Vec::new(), faults, straightened }
}

fn sheet(picture: &GrayPicture, found: code::Found, expected: &Expected) -> Reading {
    let page = straighten::page(picture, &found.map, found.size);
    let code = found.code.ok();
    let grid = code.as_ref().and_then(|code| code.grid.as_ref());
    let measured = grid.map_or(Vec::new(), |grid| boxes::read(&page, grid));
    let boxes =
        grid.map_or(Vec::new(), |grid| measured.iter().map(|one| BoxRead::of(one, grid)).collect());
    let faults = code.as_ref().map_or(Vec::new(), |code| expected.faults(code));
    Reading { kind: Kind::Sheet, code, boxes, faults, straightened: Some(page) }
}

impl BoxRead {
    fn of(measured: &boxes::Measured, grid: &crate::Grid) -> BoxRead {
        let pixel = |at: i64| u32::try_from(at.max(0)).unwrap_or(u32::MAX);
        let side = (f64::from(crate::code::BOX_SIDE) * straighten::SCALE) as u32;
        let window = grid.window_ms(measured.at.row);
        BoxRead {
            row: measured.at.row,
            column: measured.at.column,
            zone: grid.zones[measured.at.column].clone(),
            window: window.map(|(from_ms, until_ms)| Window { from_ms, until_ms }),
            ticked: measured.ticked,
            unsure: measured.unsure,
            ink_permille: measured.ink as u32,
            at: [pixel(measured.px.0), pixel(measured.px.1), side, side],
        }
    }
}

impl Fault {
    fn of_code(code: Result<SheetCode, CodeFault>) -> Fault {
        match code {
            Ok(_) | Err(CodeFault::NotOurs) => Fault::NotOurs,
            Err(CodeFault::Version(version)) => Fault::Version(version),
            Err(CodeFault::Checksum) => Fault::Checksum,
            Err(CodeFault::Field(field)) => Fault::Field(field),
        }
    }
}

/// The size of paper whose marks have about these proportions.
fn likely_size(quad: &[homography::Point; 4]) -> crate::PageSize {
    let long = |a: usize, b: usize| {
        let (dx, dy) = (quad[a].0 - quad[b].0, quad[a].1 - quad[b].1);
        dx * dx + dy * dy
    };
    let (across, down) = (long(0, 1) + long(3, 2), long(1, 2) + long(0, 3));
    // A4 marks stand 186 x 273 mm apart, Letter marks 191.9 x 255.4 mm; squares of the proportions.
    let share = across.max(down) / across.min(down).max(1.0);
    if share > 1.96 { crate::PageSize::A4 } else { crate::PageSize::Letter }
}
