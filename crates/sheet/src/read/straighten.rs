//! From a tilted picture to a flat page, eight pixels to the millimetre.

use super::homography::{Homography, Point};
use crate::{GrayPicture, PageSize};

/// Pixels to a tenth of a millimetre on a straightened page.
pub(crate) const SCALE: f64 = 0.8;

/// The map from a page to its picture by the four marks, clockwise from the upper left of the page.
pub(crate) fn map(size: PageSize, marks: [Point; 4]) -> Option<Homography> {
    Homography::of(size.marks().map(|(x, y)| (f64::from(x), f64::from(y))), marks)
}

/// The whole page.
pub(crate) fn page(picture: &GrayPicture, map: &Homography, size: PageSize) -> GrayPicture {
    let (w, h) = size.extent();
    region(picture, map, (0.0, 0.0), (f64::from(w), f64::from(h)), SCALE)
}

/// A part of the page at `scale` pixels to a tenth of a millimetre.
pub(crate) fn region(
    picture: &GrayPicture,
    map: &Homography,
    from: Point,
    extent: Point,
    scale: f64,
) -> GrayPicture {
    let (width, height) = ((extent.0 * scale) as usize, (extent.1 * scale) as usize);
    let points = points_per_pixel(map, from, extent, scale);
    let mut grey = Vec::with_capacity(width * height);
    for row in 0..height {
        for column in 0..width {
            let mut sum = 0.0;
            for j in 0..points {
                for i in 0..points {
                    let share = |at: usize, part: usize| {
                        (at as f64 + (part as f64 + 0.5) / points as f64) / scale
                    };
                    let (x, y) = map.at(from.0 + share(column, i), from.1 + share(row, j));
                    sum += picture.between(x, y);
                }
            }
            grey.push((sum / (points * points) as f64 + 0.5).clamp(0.0, 255.0) as u8);
        }
    }
    GrayPicture::new(width, height, grey).expect("a pixel for each place")
}

/// A picture finer than the page is sampled more often, so that no thin line falls between.
fn points_per_pixel(map: &Homography, from: Point, extent: Point, scale: f64) -> usize {
    let (x, y) = (from.0 + extent.0 / 2.0, from.1 + extent.1 / 2.0);
    let (here, right) = (map.at(x, y), map.at(x + 1.0 / scale, y));
    let step = (right.0 - here.0).abs().max((right.1 - here.1).abs());
    if step > 1.4 { 2 } else { 1 }
}
