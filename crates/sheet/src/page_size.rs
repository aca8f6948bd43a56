//! The two sizes of paper, and the four marks near the corners by which a picture is straightened.

use serde::Serialize;

/// Radius of a corner mark's ring.
pub const MARK_RING: i32 = 45;
/// Radius of the white hole in the ring.
pub const MARK_HOLE: i32 = 31;
/// Radius of the black disc in the hole.
pub const MARK_DISC: i32 = 18;
/// How far a mark's middle stands from both edges.
const MARK_INSET: i32 = 120;

/// The size of the paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize)]
pub enum PageSize {
    /// 210 mm x 297 mm (ISO 216).
    #[default]
    #[serde(rename = "a4")]
    A4,
    /// 8.5 in x 11 in (ANSI/ASME Y14.1 size A).
    #[serde(rename = "letter")]
    Letter,
}

impl PageSize {
    /// Both.
    pub const ALL: [PageSize; 2] = [PageSize::A4, PageSize::Letter];

    /// Width and height.
    pub fn extent(self) -> (i32, i32) {
        match self {
            PageSize::A4 => (2100, 2970),
            PageSize::Letter => (2159, 2794),
        }
    }

    /// The middles of the marks, clockwise from the upper left.
    pub fn marks(self) -> [(i32, i32); 4] {
        let (w, h) = self.extent();
        let (right, below) = (w - MARK_INSET, h - MARK_INSET);
        [(MARK_INSET, MARK_INSET), (right, MARK_INSET), (right, below), (MARK_INSET, below)]
    }

    pub(crate) fn letter(self) -> char {
        match self {
            PageSize::A4 => 'a',
            PageSize::Letter => 'l',
        }
    }

    pub(crate) fn of_letter(text: &str) -> Option<PageSize> {
        PageSize::ALL.into_iter().find(|size| text.chars().eq([size.letter()]))
    }
}
