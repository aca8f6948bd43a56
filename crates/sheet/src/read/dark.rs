//! What is dark against its surroundings, whatever the light: pixels below a share of the mean around
//! them (adaptive threshold by integral image; common practice).

use crate::GrayPicture;

/// Sums of the pixels above and to the left, so that the sum of any rectangle takes four look-ups.
pub(crate) struct Sums {
    width: usize,
    height: usize,
    sums: Vec<u64>,
}

impl Sums {
    pub(crate) fn of(picture: &GrayPicture) -> Sums {
        let (width, height) = (picture.width(), picture.height());
        let mut sums = vec![0u64; (width + 1) * (height + 1)];
        for y in 0..height {
            let mut row = 0u64;
            for x in 0..width {
                row += u64::from(picture.pixels()[y * width + x]);
                sums[(y + 1) * (width + 1) + x + 1] = sums[y * (width + 1) + x + 1] + row;
            }
        }
        Sums { width, height, sums }
    }

    /// Sum and number of the pixels from one corner up to, but without, another.
    pub(crate) fn of_rectangle(&self, from: (i64, i64), to: (i64, i64)) -> (f64, f64) {
        let x = |x: i64| x.clamp(0, self.width as i64) as usize;
        let y = |y: i64| y.clamp(0, self.height as i64) as usize;
        let (left, above, right, below) = (x(from.0), y(from.1), x(to.0), y(to.1));
        if right <= left || below <= above {
            return (0.0, 0.0);
        }
        let at = |x: usize, y: usize| self.sums[y * (self.width + 1) + x];
        let sum = at(right, below) + at(left, above) - at(left, below) - at(right, above);
        (sum as f64, ((right - left) * (below - above)) as f64)
    }
}

/// Which pixels are dark, with a window of `window` pixels around each.
pub(crate) fn dark(picture: &GrayPicture, window: usize, share: f64) -> Vec<bool> {
    let sums = Sums::of(picture);
    let half = (window / 2) as i64;
    let (width, height) = (picture.width() as i64, picture.height() as i64);
    let mut dark = Vec::with_capacity(picture.pixels().len());
    for y in 0..height {
        for x in 0..width {
            let (sum, n) = sums.of_rectangle((x - half, y - half), (x + half + 1, y + half + 1));
            let tone = f64::from(picture.pixels()[(y * width + x) as usize]);
            dark.push(tone * n < sum * share - 4.0 * n);
        }
    }
    dark
}
