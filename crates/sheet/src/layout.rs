//! Where everything stands: the pages of a night's sheets.

mod head;
mod legend;
mod log;
mod writing;

use crate::code::{Grid, SheetCode, ZoneRef};
use crate::columns::Columns;
use crate::item::{Align, Face, Ink, Item};
use crate::page_size::{MARK_DISC, MARK_HOLE, MARK_RING, PageSize};
use crate::tonight::Tonight;
use ledger::Digest;
use words::{Lang, sheet};

/// Where the QR code stands on a page, with its quiet zone: left, upper edge, side.
pub(crate) fn code_place(size: PageSize) -> (i32, i32, i32) {
    let (x, y) = head::code_at(size.extent().0);
    (x, y, head::CODE_SIDE)
}

/// The version of this layout; it stands in every sheet code.
pub const LAYOUT_VERSION: u32 = 1;
/// Zones side by side on one page.
const ZONES_MAX: usize = 8;
/// Left and right edge of what is printed between the marks' columns.
const MARGIN: i32 = 180;

/// One page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// What its code says.
    pub code: SheetCode,
    /// What is drawn, in reading order.
    pub items: Vec<Item>,
}

/// What the parts of a page share.
struct Drawing<'a> {
    tonight: &'a Tonight,
    columns: &'a Columns,
    size: PageSize,
    lang: Lang,
    items: Vec<Item>,
}

/// The zones and rows of one page of the log.
#[derive(Clone)]
struct Part {
    zones: std::ops::Range<usize>,
    rows: std::ops::Range<usize>,
}

/// Lays a night's sheets out: the log, then a page for writing. Equal input gives equal pages.
pub fn pages(tonight: &Tonight, columns: &Columns, size: PageSize, lang: Lang) -> Vec<Page> {
    let parts = parts(tonight, size);
    let writing = writing::count(tonight, size);
    let of = (parts.len() + writing).min(usize::from(u16::MAX)) as u16;
    let set = set(tonight, columns, size, lang);
    let code = |page: usize, grid| SheetCode {
        size,
        watch: tonight.watch.clone(),
        page: (page + 1).min(usize::from(of)) as u16,
        of,
        set,
        tz_min: tonight.tz_min,
        grid,
    };
    let blank = || Drawing { tonight, columns, size, lang, items: Vec::new() };
    let mut pages = Vec::new();
    for part in parts {
        let grid = log::grid(&blank(), &part);
        let code = code(pages.len(), Some(grid.clone()));
        let mut drawing = blank();
        drawing.head(&code);
        drawing.log(&part, &grid);
        drawing.legend(&grid);
        drawing.foot(&code);
        pages.push(Page { code, items: drawing.items });
    }
    for place in 0..writing {
        let code = code(pages.len(), None);
        let mut drawing = blank();
        drawing.head(&code);
        drawing.writing(place);
        drawing.foot(&code);
        pages.push(Page { code, items: drawing.items });
    }
    pages
}

/// Zones in groups of at most eight, rows in as few pages as they fit on, evenly.
fn parts(tonight: &Tonight, size: PageSize) -> Vec<Part> {
    let rows = tonight.rows.len().max(1);
    let fit = log::rows_max(size);
    let chunks = rows.div_ceil(fit);
    let each = rows.div_ceil(chunks);
    let bands = tonight.zones.len().div_ceil(ZONES_MAX).max(1);
    let wide = tonight.zones.len().div_ceil(bands).max(1);
    let mut parts = Vec::new();
    for from in (0..rows).step_by(each) {
        for first in (0..tonight.zones.len().max(1)).step_by(wide) {
            parts.push(Part {
                zones: first..(first + wide).min(tonight.zones.len()),
                rows: from..(from + each).min(rows),
            });
        }
    }
    parts
}

/// Names what was printed together.
fn set(tonight: &Tonight, columns: &Columns, size: PageSize, lang: Lang) -> u32 {
    let text = format!("{LAYOUT_VERSION} {size:?} {lang:?} {columns:?} {tonight:?}");
    let digest = Digest::of(text.as_bytes()).to_string();
    u32::from_str_radix(&digest[..8], 16).expect("a digest is hex")
}

impl Part {
    fn zone_refs(&self, tonight: &Tonight) -> Vec<ZoneRef> {
        tonight.zones[self.zones.clone()]
            .iter()
            .map(|zone| zone.id.clone().map_or(ZoneRef::Blank, ZoneRef::Id))
            .collect()
    }
}

impl Drawing<'_> {
    /// Left and right edge.
    fn edges(&self) -> (i32, i32) {
        (MARGIN, self.size.extent().0 - MARGIN)
    }

    fn marks(&mut self) {
        for at in self.size.marks() {
            for (r, ink) in [(MARK_RING, Ink::Ink), (MARK_HOLE, Ink::White), (MARK_DISC, Ink::Ink)]
            {
                self.items.push(Item::Disc { at, r, ink });
            }
        }
    }

    fn text(&mut self, place: (i32, i32, i32, i32), style: Style, text: impl Into<String>) {
        let text = text.into();
        let (x, y, w, h) = place;
        let Style { size, face, align, ink } = style;
        if !text.is_empty() {
            self.items.push(Item::Text { x, y, w, h, size, face, align, ink, text });
        }
    }

    fn rule(&mut self, y: i32, weight: i32, ink: Ink) {
        let (left, right) = self.edges();
        self.items.push(Item::Line { from: (left, y), to: (right, y), weight, ink });
    }

    fn frame(&mut self, (x, y, w, h): (i32, i32, i32, i32), weight: i32, ink: Ink) {
        self.items.push(Item::Frame { x, y, w, h, weight, ink });
    }

    /// A word with a line to write on behind it.
    fn blank(&mut self, (x, y, w, h): (i32, i32, i32, i32), word: &str) {
        self.text((x, y, w, 30), Style::soft(70), word);
        self.items.push(Item::Line {
            from: (x, y + h),
            to: (x + w, y + h),
            weight: 2,
            ink: Ink::Ink,
        });
    }

    fn foot(&mut self, code: &SheetCode) {
        let (left, right) = self.edges();
        let y = self.size.extent().1 - 135;
        let wide = right - left;
        let page = sheet::page(self.lang, code.of, code.page);
        self.text((left + 20, y, wide * 2 / 3, 32), Style::mono(75), code.says());
        let right_style = Style { align: Align::Right, ..Style::plain(80) };
        self.text((left + wide / 2, y, wide / 2 - 20, 32), right_style, page);
        let decide = words::terms_of_trade::local_codes_decide(self.lang);
        self.text((left + 20, y + 34, wide - 40, 30), Style::soft(65), decide);
    }
}

/// How words look.
#[derive(Clone, Copy)]
struct Style {
    size: i32,
    face: Face,
    align: Align,
    ink: Ink,
}

impl Style {
    fn plain(size: i32) -> Style {
        Style { size, face: Face::Plain, align: Align::Left, ink: Ink::Ink }
    }

    fn bold(size: i32) -> Style {
        Style { face: Face::Bold, ..Style::plain(size) }
    }

    fn mono(size: i32) -> Style {
        Style { face: Face::Mono, ..Style::plain(size) }
    }

    fn soft(size: i32) -> Style {
        Style { ink: Ink::Soft, ..Style::plain(size) }
    }

    fn filled(size: i32) -> Style {
        Style { face: Face::Filled, ..Style::plain(size) }
    }

    fn middle(self) -> Style {
        Style { align: Align::Center, ..self }
    }
}

/// A page without boxes is a page for writing.
impl Page {
    /// The boxes of the log, if the page has any.
    pub fn grid(&self) -> Option<&Grid> {
        self.code.grid.as_ref()
    }
}
