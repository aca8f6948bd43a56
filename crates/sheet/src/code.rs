//! The sheet code: which watch, page and set a sheet belongs to, and where its boxes stand. It is all
//! that a reader needs to know.
//!
//! As text, fields between `/`: `RWS1`, paper (`a` or `l`), watch, page, pages, set (8 hex digits),
//! minutes ahead of UTC, first window (minutes since 1970 UTC, or `-`), length of a window (s, or `-`),
//! rows, `x.y.dx.dy` of the first box and the steps, zones joined by `+`, CRC-32 (8 hex digits) of all
//! before it. Printed in capitals with `*` for `_`, so that it fits the small alphabet of QR codes.

use ledger::{Digest, WatchId};
use record::ZoneId;
use serde::Serialize;
use std::fmt::Write as _;
use thiserror::Error;

/// What a code of ours begins with: name and version of the layout.
const PREFIX: &str = "rws";
/// A code longer than this names zones by digest, so that its modules stay large enough for a phone's
/// camera (version 8 at level M holds 221 signs, ISO/IEC 18004 table 7).
const LENGTH_MAX: usize = 221;
/// Hex digits by which a zone is named whose id is too long.
const SHORT: usize = 6;
/// The first window of a sheet begins within two hundred years of 1970 (ours): a code is data from a stranger.
const MINUTES_MAX: u64 = 200 * 366 * 24 * 60;
/// The outer side of a tick box.
pub(crate) const BOX_SIDE: i32 = 50;

/// CRC-32 (ISO-HDLC) without the tables that would make it fast: a code is short, and every phone fetches its reader.
fn checksum(text: &str) -> u32 {
    crc::Crc::<u32, crc::NoTable>::new(&crc::CRC_32_ISO_HDLC).checksum(text.as_bytes())
}

/// What the code of one page says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetCode {
    /// The paper.
    pub size: PageSize,
    /// The watch.
    pub watch: WatchId,
    /// The page, from 1.
    pub page: u16,
    /// How many pages the set has.
    pub of: u16,
    /// Names the set: the same on every page that was printed together.
    pub set: u32,
    /// Minutes that the printed times are ahead of UTC.
    pub tz_min: i32,
    /// The boxes; none on a page for writing.
    pub grid: Option<Grid>,
}

/// Where the boxes stand and what they mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grid {
    /// Upper left corner of the first box.
    pub x: i32,
    /// Upper left corner of the first box.
    pub y: i32,
    /// From one box to the next in a row.
    pub dx: i32,
    /// From one row to the next.
    pub dy: i32,
    /// How many rows.
    pub rows: u16,
    /// When the first row's window begins, ms UTC; none if the terms state no gap.
    pub from_ms: Option<i64>,
    /// How long each window is, s.
    pub step_s: Option<u32>,
    /// The columns.
    pub zones: Vec<ZoneRef>,
}

/// How a column names its zone.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ZoneRef {
    /// By its id.
    Id(ZoneId),
    /// By the first six hex digits of the SHA-256 of its id, where the ids are too long for the code.
    Digest(String),
    /// By hand.
    Blank,
}

/// One box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TickBox {
    /// Row, from 0.
    pub row: usize,
    /// Column among the zones, from 0.
    pub column: usize,
    /// Left edge.
    pub x: i32,
    /// Upper edge.
    pub y: i32,
}

/// Why a text is no code of ours.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CodeFault {
    /// Something else altogether.
    #[error("the code on the page is not that of a log sheet")]
    NotOurs,
    /// A layout of another version.
    #[error("the sheet has layout {0}, this program reads layout 1: use a newer program")]
    Version(String),
    /// The checksum does not fit.
    #[error("the checksum of the sheet code is wrong")]
    Checksum,
    /// A field that says nothing.
    #[error("the sheet code does not say its {0} rightly")]
    Field(&'static str),
}

use crate::page_size::PageSize;

impl ZoneRef {
    /// Whether it names this zone.
    pub fn names(&self, zone: &ZoneId) -> bool {
        match self {
            ZoneRef::Id(id) => id == zone,
            ZoneRef::Digest(digest) => *digest == short(zone),
            ZoneRef::Blank => false,
        }
    }
}

fn short(zone: &ZoneId) -> String {
    Digest::of(zone.as_str().as_bytes()).to_string()[..SHORT].to_owned()
}

fn is_short(digest: &str) -> bool {
    digest.len() == SHORT && digest.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

impl Grid {
    /// Every box, row by row.
    pub fn boxes(&self) -> impl Iterator<Item = TickBox> {
        let columns = self.zones.len();
        (0..usize::from(self.rows) * columns).map(move |at| {
            let (row, column) = (at / columns, at % columns);
            TickBox {
                row,
                column,
                x: self.x + self.dx * column as i32,
                y: self.y + self.dy * row as i32,
            }
        })
    }

    /// From when to when a row's window lasts, ms UTC.
    pub fn window_ms(&self, row: usize) -> Option<(i64, i64)> {
        let step_ms = i64::from(self.step_s?) * 1000;
        let from_ms = self.from_ms? + step_ms * row as i64;
        Some((from_ms, from_ms + step_ms))
    }
}

impl SheetCode {
    /// The text that the QR code holds.
    pub fn text(&self) -> String {
        let long = self.written(false);
        let text = if long.len() > LENGTH_MAX { self.written(true) } else { long };
        text.to_ascii_uppercase().replace('_', "*")
    }

    /// What stands beside the code for people: watch, page and set.
    pub fn says(&self) -> String {
        format!("{} · {}/{} · {:08x}", self.watch, self.page, self.of, self.set)
    }

    fn written(&self, zones_short: bool) -> String {
        let mut text = format!(
            "{PREFIX}1/{}/{}/{}/{}/{:08x}/{}/",
            self.size.letter(),
            self.watch,
            self.page,
            self.of,
            self.set,
            self.tz_min
        );
        match &self.grid {
            None => text.push_str("-/-/0/0.0.0.0/"),
            Some(grid) => grid.write(&mut text, zones_short),
        }
        let sum = checksum(&text);
        write!(text, "/{sum:08x}").expect("a String takes everything");
        text
    }

    /// Reads a code's text.
    pub fn parse(text: &str) -> Result<SheetCode, CodeFault> {
        let text = text.to_ascii_lowercase().replace('*', "_");
        let rest = text.strip_prefix(PREFIX).ok_or(CodeFault::NotOurs)?;
        let version = rest.split('/').next().unwrap_or_default();
        if version.is_empty() || !version.bytes().all(|b| b.is_ascii_digit()) {
            return Err(CodeFault::NotOurs);
        }
        if version != "1" {
            return Err(CodeFault::Version(version.to_owned()));
        }
        let (before, sum) = text.rsplit_once('/').ok_or(CodeFault::NotOurs)?;
        if u32::from_str_radix(sum, 16) != Ok(checksum(before)) {
            return Err(CodeFault::Checksum);
        }
        let fields: Vec<&str> = before.split('/').collect();
        let [_, size, watch, page, of, set, tz_min, from, step, rows, at, zones] = fields[..]
        else {
            return Err(CodeFault::Field("fields"));
        };
        let code = SheetCode {
            size: PageSize::of_letter(size).ok_or(CodeFault::Field("paper"))?,
            watch: WatchId::new(watch).map_err(|_| CodeFault::Field("watch"))?,
            page: number(page, "page")?,
            of: number(of, "pages")?,
            set: u32::from_str_radix(set, 16).map_err(|_| CodeFault::Field("set"))?,
            tz_min: number(tz_min, "time zone")?,
            grid: Grid::parse(rows, from, step, at, zones)?,
        };
        match code.page >= 1 && code.page <= code.of && code.stands_on_paper() {
            true => Ok(code),
            false => Err(CodeFault::Field("page or boxes")),
        }
    }

    /// No box may lie outside its page: a code is data from a stranger.
    fn stands_on_paper(&self) -> bool {
        let Some(grid) = &self.grid else { return true };
        let (w, h) = self.size.extent();
        let fits = |first: i32, step: i32, n: usize, within: i32| {
            let last = i64::from(first) + i64::from(step) * (n as i64 - 1);
            // The step of a single box leads nowhere and still is a length on paper.
            first >= 0
                && (0..=within).contains(&step)
                && (n == 1 || step > BOX_SIDE)
                && last + i64::from(BOX_SIDE) <= i64::from(within)
        };
        fits(grid.x, grid.dx, grid.zones.len(), w) && fits(grid.y, grid.dy, grid.rows.into(), h)
    }
}

impl Grid {
    fn write(&self, text: &mut String, zones_short: bool) {
        let or_none = |number: Option<i64>| number.map_or("-".to_owned(), |n| n.to_string());
        let from_min = or_none(self.from_ms.map(|ms| ms.div_euclid(60_000)));
        let step = or_none(self.step_s.map(i64::from));
        let Grid { x, y, dx, dy, rows, .. } = self;
        write!(text, "{from_min}/{step}/{rows}/{x}.{y}.{dx}.{dy}/")
            .expect("a String takes everything");
        let zones: Vec<String> = self.zones.iter().map(|zone| zone.written(zones_short)).collect();
        text.push_str(&zones.join("+"));
    }

    fn parse(
        rows: &str,
        from: &str,
        step: &str,
        at: &str,
        zones: &str,
    ) -> Result<Option<Grid>, CodeFault> {
        let rows: u16 = number(rows, "rows")?;
        if rows == 0 {
            return Ok(None);
        }
        let places: Vec<&str> = at.split('.').collect();
        let [x, y, dx, dy] = places[..] else { return Err(CodeFault::Field("boxes")) };
        let place = |text| number::<i32>(text, "boxes");
        let from_min: Option<i64> = or_none(from, "first window")?;
        if from_min.is_some_and(|min| min.unsigned_abs() > MINUTES_MAX) {
            return Err(CodeFault::Field("first window"));
        }
        Ok(Some(Grid {
            x: place(x)?,
            y: place(y)?,
            dx: place(dx)?,
            dy: place(dy)?,
            rows,
            from_ms: from_min.map(|min| min * 60_000),
            step_s: or_none(step, "window")?,
            zones: zones.split('+').map(ZoneRef::parse).collect::<Result<_, _>>()?,
        }))
    }
}

impl ZoneRef {
    fn written(&self, as_digest: bool) -> String {
        match self {
            ZoneRef::Id(id) if as_digest => format!(":{}", short(id)),
            ZoneRef::Id(id) => id.to_string(),
            ZoneRef::Digest(digest) => format!(":{digest}"),
            ZoneRef::Blank => String::new(),
        }
    }

    fn parse(text: &str) -> Result<ZoneRef, CodeFault> {
        if text.is_empty() {
            return Ok(ZoneRef::Blank);
        }
        match text.strip_prefix(':') {
            Some(digest) if is_short(digest) => Ok(ZoneRef::Digest(digest.to_owned())),
            Some(_) => Err(CodeFault::Field("zones")),
            None => ZoneId::new(text).map(ZoneRef::Id).map_err(|_| CodeFault::Field("zones")),
        }
    }
}

fn number<T: std::str::FromStr>(text: &str, what: &'static str) -> Result<T, CodeFault> {
    text.parse().map_err(|_| CodeFault::Field(what))
}

fn or_none<T: std::str::FromStr>(text: &str, what: &'static str) -> Result<Option<T>, CodeFault> {
    match text {
        "-" => Ok(None),
        text => number(text, what).map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(zones: usize, name: &str) -> SheetCode {
        let zone = |n| ZoneRef::Id(ZoneId::new(format!("{name}_{n}")).unwrap());
        let grid = Grid {
            x: 300,
            y: 640,
            dx: 115,
            dy: 70,
            rows: 28,
            from_ms: Some(1_770_775_200_000),
            step_s: Some(900),
            zones: (0..zones).map(zone).collect(),
        };
        SheetCode {
            size: PageSize::A4,
            watch: WatchId::new("w-gannet-hotel").unwrap(),
            page: 1,
            of: 3,
            set: 0x00c0_ffee,
            tz_min: -360,
            grid: Some(grid),
        }
    }

    #[test]
    fn a_code_comes_back_from_its_text() {
        let code = code(8, "floor");
        let text = code.text();
        assert!(
            text.bytes().all(|b| b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:".contains(&b)),
            "{text}"
        );
        assert_eq!(SheetCode::parse(&text), Ok(code));
        let page = SheetCode { grid: None, ..self::code(1, "x") };
        assert_eq!(SheetCode::parse(&page.text()), Ok(page));
    }

    #[test]
    fn long_names_are_told_by_digest_and_still_name_their_zone() {
        let name = "the-quite-long-name-of-a-zone-on-the-upper-floor";
        let code = code(8, name);
        assert!(code.text().len() <= LENGTH_MAX, "{}", code.text());
        let read = SheetCode::parse(&code.text()).unwrap();
        let zones = &read.grid.unwrap().zones;
        assert!(zones[3].names(&ZoneId::new(format!("{name}_3")).unwrap()));
        assert!(!zones[3].names(&ZoneId::new(format!("{name}_4")).unwrap()));
    }

    #[test]
    fn strangers_are_told_apart_from_damage() {
        assert_eq!(SheetCode::parse("HTTPS://EXAMPLE.ORG"), Err(CodeFault::NotOurs));
        assert_eq!(SheetCode::parse("RWSX/A"), Err(CodeFault::NotOurs));
        assert_eq!(SheetCode::parse("RWS2/A"), Err(CodeFault::Version("2".into())));
        let text = code(2, "floor").text();
        assert_eq!(SheetCode::parse(&text.replace("/28/", "/29/")), Err(CodeFault::Checksum));
        // A code that was made by hand, with the right checksum.
        let forged = |from: &str, to: &str| {
            let (before, _) = text.rsplit_once('/').unwrap();
            let before = before.to_ascii_lowercase().replace('*', "_").replacen(from, to, 1);
            SheetCode::parse(&format!("{before}/{:08x}", crc32fast::hash(before.as_bytes())))
        };
        assert!(forged("", "").is_ok());
        for min in ["153722867280911", "-153722867280911", "9223372036854775807"] {
            assert_eq!(
                forged("/29512920/", &format!("/{min}/")),
                Err(CodeFault::Field("first window"))
            );
        }
        assert_eq!(forged("floor_1", ":0a1b2"), Err(CodeFault::Field("zones")));
        assert_eq!(forged("floor_1", ":straße"), Err(CodeFault::Field("zones")));
        let one_row = forged("/28/300.640.115.70/", "/1/300.640.115.-2147483648/");
        assert_eq!(one_row, Err(CodeFault::Field("page or boxes")));
        let mut outside = code(2, "floor");
        outside.grid.as_mut().unwrap().rows = 400;
        assert_eq!(SheetCode::parse(&outside.text()), Err(CodeFault::Field("page or boxes")));
    }
}
