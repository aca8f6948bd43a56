//! Reads the sheet code: for each way the page may lie, the place of the code is straightened and
//! given to a QR reader.

use super::dark::dark;
use super::homography::{Homography, Point};
use super::straighten;
use crate::layout::code_place;
use crate::{CodeFault, GrayPicture, PageSize, SheetCode};

/// More than the code's place is looked at, since the page may be bent.
const BEYOND: f64 = 25.0;

/// A code that was read, and how the page lies.
pub(crate) struct Found {
    pub(crate) map: Homography,
    pub(crate) code: Result<SheetCode, CodeFault>,
    pub(crate) size: PageSize,
}

/// Looks for a code by the marks of one set. A page may lie in four ways and have two sizes.
pub(crate) fn find(picture: &GrayPicture, marks: [Point; 4]) -> Option<Found> {
    let mut strange = None;
    for turn in 0..4 {
        let mut turned = marks;
        turned.rotate_left(turn);
        for size in PageSize::ALL {
            let Some(map) = straighten::map(size, turned) else { continue };
            let Some(text) = text(picture, &map, size) else { continue };
            let found = Found { map, code: SheetCode::parse(&text), size };
            match &found.code {
                Ok(code) if code.size != size => {}
                Ok(_) => return Some(found),
                Err(_) => strange = strange.or(Some(found)),
            }
        }
    }
    strange
}

fn text(picture: &GrayPicture, map: &Homography, size: PageSize) -> Option<String> {
    let (x, y, side) = code_place(size);
    let from = (f64::from(x) - BEYOND, f64::from(y) - BEYOND);
    let extent = f64::from(side) + 2.0 * BEYOND;
    // At the scale of the page first; finer and coarser where blur or noise hid it.
    for scale in [0.8, 1.2, 0.55] {
        let patch = straighten::region(picture, map, from, (extent, extent), scale);
        if scale == 0.8 && !is_code_like(&patch) {
            return None;
        }
        let text = qr(&patch).or_else(|| qr(&black_and_white(&patch)));
        if text.is_some() {
            return text;
        }
    }
    None
}

/// A code is about half dark; paper, words and a table top are not.
fn is_code_like(patch: &GrayPicture) -> bool {
    let dark = dark(patch, patch.width() / 3, 0.9).into_iter().filter(|dark| *dark).count();
    let share = dark as f64 / patch.pixels().len() as f64;
    (0.15..0.7).contains(&share)
}

fn black_and_white(patch: &GrayPicture) -> GrayPicture {
    let dark = dark(patch, patch.width() / 5, 0.95);
    let grey = dark.into_iter().map(|dark| if dark { 0 } else { 255 }).collect();
    GrayPicture::new(patch.width(), patch.height(), grey).expect("a pixel for each place")
}

fn qr(patch: &GrayPicture) -> Option<String> {
    let mut reader = quircs::Quirc::default();
    let codes = reader.identify(patch.width(), patch.height(), patch.pixels());
    let texts = codes.filter_map(|code| code.ok()?.decode().ok());
    texts.filter_map(|text| String::from_utf8(text.payload).ok()).next()
}
