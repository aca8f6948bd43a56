//! Whether a box is ticked. Each box is first found again by its outline near its place, since paper
//! bends; then the ink inside is measured against the paper around it. Thin dark strokes count;
//! what is broad (shadow, stain) does not, and makes the box unsure.

use super::dark::Sums;
use super::straighten::SCALE;
use crate::code::BOX_SIDE;
use crate::{GrayPicture, Grid, TickBox};

/// How far a box may stand from its place, pixels.
const REACH: i64 = 12;
/// The outline that is looked for, pixels.
const OUTLINE: i64 = 3;
/// From the outer edge to where ink is measured: past the thickest outline, blurred.
const INSET: i64 = 10;
/// Strokes broader than twice this are no strokes, pixels.
const STROKE_HALF: i64 = 7;
/// Ink below this, in thousandths of the inner area, is none (found by trial, `bench/results/sheet.md`).
const EMPTY_BELOW: f64 = 16.0;
/// Ink from this on is a tick.
const TICKED_FROM: f64 = 62.0;
/// Darkness that is no stroke: shadow, stain, a box filled black.
const BROAD_FROM: f64 = 150.0;
/// Strokes whose centre of mass stands this far off the middle come in from outside, pixels of 10.
const STRAY_FROM: f64 = 6.2;
/// A stroke's darkest part, as a share of the outline's darkness; what is paler may be a stain.
const PEAK_LEAST: f64 = 0.45;
/// The palest side of the outline, as a share of the whole outline's darkness; where one is paler, what was found are
/// parts of two boxes, as on paper bent by more than [`REACH`].
const SIDE_LEAST: f64 = 0.45;
/// Darkness of a box that is filled.
const FILLED_FROM: f64 = 600.0;
/// Outline against paper below which nothing is sure, of 255.
const CONTRAST_LEAST: f64 = 42.0;

/// What was measured of one box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Measured {
    pub(crate) at: TickBox,
    /// Left and upper edge on the straightened page, pixels.
    pub(crate) px: (i64, i64),
    /// Strokes, in thousandths of the inner area.
    pub(crate) ink: f64,
    pub(crate) ticked: bool,
    pub(crate) unsure: bool,
}

/// Reads every box of a grid from a straightened page.
pub(crate) fn read(page: &GrayPicture, grid: &Grid) -> Vec<Measured> {
    let sums = Sums::of(page);
    let boxes: Vec<TickBox> = grid.boxes().collect();
    let found: Vec<Offset> =
        boxes.iter().map(|at| search(&sums, place(at), (0, 0), REACH)).collect();
    let columns = grid.zones.len();
    let bent = is_one_row_off(&sums, grid, &found);
    let mut measured = Vec::new();
    for (at, own) in boxes.iter().zip(&found) {
        let usual = usual(&found, columns, at);
        let strays = (own.by.0 - usual.0).abs().max((own.by.1 - usual.1).abs()) > 3;
        let offset = if strays { search(&sums, place(at), usual, 2) } else { *own };
        measured.push(measure(page, at, &offset, bent));
    }
    measured
}

/// Where a box should stand, pixels.
fn place(at: &TickBox) -> (i64, i64) {
    let pixel = |tenths: i32| (f64::from(tenths) * SCALE + 0.5) as i64;
    (pixel(at.x), pixel(at.y))
}

/// How far from its place an outline was found, and how much darker than its surroundings it is.
#[derive(Debug, Clone, Copy)]
struct Offset {
    by: (i64, i64),
    contrast: f64,
}

fn side() -> i64 {
    (f64::from(BOX_SIDE) * SCALE) as i64
}

fn search(sums: &Sums, (x, y): (i64, i64), around: (i64, i64), reach: i64) -> Offset {
    let mut best = Offset { by: around, contrast: f64::MIN };
    let mut best_score = f64::MIN;
    for dy in around.1 - reach..=around.1 + reach {
        for dx in around.0 - reach..=around.0 + reach {
            let contrast = outline(sums, (x + dx, y + dy));
            // Between equals the nearer one.
            let far = ((dx - around.0).abs() + (dy - around.1).abs()) as f64;
            let score = contrast - 0.15 * far;
            if score > best_score {
                best_score = score;
                best = Offset { by: (dx, dy), contrast };
            }
        }
    }
    best
}

/// Mean of a ring outside minus the mean of the outline.
fn outline(sums: &Sums, (x, y): (i64, i64)) -> f64 {
    let band = |out: i64, inner: i64| {
        let (all, n) = sums.of_rectangle((x - out, y - out), (x + side() + out, y + side() + out));
        let (hole, m) =
            sums.of_rectangle((x - inner, y - inner), (x + side() + inner, y + side() + inner));
        (all - hole) / (n - m).max(1.0)
    };
    band(6, 2) - band(0, -OUTLINE)
}

/// What the boxes around one are moved by: paper bends smoothly.
fn usual(found: &[Offset], columns: usize, at: &TickBox) -> (i64, i64) {
    let rows = found.len() / columns;
    let mut xs = Vec::new();
    let mut ys = Vec::new();
    for row in at.row.saturating_sub(2)..(at.row + 3).min(rows) {
        for column in at.column.saturating_sub(2)..(at.column + 3).min(columns) {
            let by = found[row * columns + column].by;
            xs.push(by.0);
            ys.push(by.1);
        }
    }
    (middle(xs), middle(ys))
}

fn middle(mut numbers: Vec<i64>) -> i64 {
    numbers.sort_unstable();
    numbers[numbers.len() / 2]
}

/// Whether outlines stand where none can be, above the first or below the last row: then every box
/// may have been taken for its neighbour.
fn is_one_row_off(sums: &Sums, grid: &Grid, found: &[Offset]) -> bool {
    let columns = grid.zones.len();
    let last = usize::from(grid.rows) - 1;
    let beyond = [(0usize, -grid.dy), (last, grid.dy)];
    beyond.into_iter().any(|(row, dy)| {
        let outlines = (0..columns).filter(|column| {
            let at = TickBox {
                row,
                column: *column,
                x: grid.x + grid.dx * *column as i32,
                y: grid.y + grid.dy * row as i32 + dy,
            };
            let near = found[row * columns + column];
            let there = search(sums, place(&at), near.by, 2);
            there.contrast > 0.7 * near.contrast
        });
        outlines.count() * 2 > columns
    })
}

fn measure(page: &GrayPicture, at: &TickBox, offset: &Offset, bent: bool) -> Measured {
    let (x, y) = place(at);
    let px = (x + offset.by.0, y + offset.by.1);
    let patch = Patch::of(page, px);
    let contrast = patch.contrast();
    let Ink { ink, broad, off, peak } = patch.ink(contrast);
    let dim = contrast < CONTRAST_LEAST || offset.contrast < 0.3 * contrast;
    let broken = patch.palest_side() < SIDE_LEAST * contrast;
    let between = (EMPTY_BELOW..TICKED_FROM).contains(&ink);
    // A stroke that only comes in from one side belongs to a neighbour.
    let strays_in = ink >= EMPTY_BELOW && off > STRAY_FROM;
    // The edge of a stain is a thin line too, but a pale one.
    let pale = ink >= EMPTY_BELOW && peak < PEAK_LEAST;
    // Dark all over, and little of it strokes: filled black, to take a tick back.
    let filled = broad >= FILLED_FROM && ink < 0.55 * broad;
    let shaded = broad >= BROAD_FROM && ink < TICKED_FROM;
    Measured {
        at: *at,
        px,
        ink,
        ticked: ink >= (EMPTY_BELOW + TICKED_FROM) / 2.0 && !strays_in && !filled,
        unsure: dim || broken || between || strays_in || pale || filled || shaded || bent,
    }
}

/// What is dark inside a box.
struct Ink {
    /// Strokes, in thousandths of the inner area.
    ink: f64,
    /// Darkness of any kind, in thousandths.
    broad: f64,
    /// How far the strokes' centre of mass stands from the middle, pixels.
    off: f64,
    /// The darkest twentieth of the strokes, as a share of the outline's darkness.
    peak: f64,
}

/// The surroundings of one box, smoothed a little against noise.
struct Patch {
    /// Width and height.
    side: i64,
    tones: Vec<f64>,
}

/// Around the box, pixels.
const AROUND: i64 = 8;

impl Patch {
    fn of(page: &GrayPicture, (x, y): (i64, i64)) -> Patch {
        let side = side() + 2 * AROUND;
        let mut tones = Vec::with_capacity((side * side) as usize);
        for j in 0..side {
            for i in 0..side {
                let (px, py) = (x - AROUND + i, y - AROUND + j);
                let near = (-1..=1).flat_map(|b| (-1..=1).map(move |a| (a, b)));
                let sum: f64 = near.map(|(a, b)| f64::from(page.at(px + a, py + b))).sum();
                tones.push(sum / 9.0);
            }
        }
        Patch { side, tones }
    }

    fn tone(&self, x: i64, y: i64) -> f64 {
        self.tones[(y * self.side + x) as usize]
    }

    /// Paper against outline: the middle tone outside minus the middle tone of the outline.
    fn contrast(&self) -> f64 {
        let from_edge = |x: i64, y: i64| {
            let within = |v: i64| (v - AROUND).min(AROUND + side() - 1 - v);
            within(x).min(within(y))
        };
        let mut paper = Vec::new();
        let mut line = Vec::new();
        for y in 0..self.side {
            for x in 0..self.side {
                match from_edge(x, y) {
                    -6..=-3 => paper.push(self.tone(x, y)),
                    0..OUTLINE => line.push(self.tone(x, y)),
                    _ => {}
                }
            }
        }
        middle_tone(paper) - middle_tone(line)
    }

    /// Paper against the palest of the outline's four sides: their mean tones, corners left out, which belong to two.
    fn palest_side(&self) -> f64 {
        let (first, last) = (AROUND, AROUND + side() - 1);
        let mean = |tone: &dyn Fn(i64, i64) -> f64| {
            let along = (first + INSET..=last - INSET)
                .flat_map(|at| (0..OUTLINE).map(move |deep| (at, deep)));
            let (sum, n) =
                along.fold((0.0, 0.0), |(sum, n), (at, deep)| (sum + tone(at, deep), n + 1.0));
            sum / n
        };
        let sides = [
            mean(&|at, deep| self.tone(at, first + deep)),
            mean(&|at, deep| self.tone(at, last - deep)),
            mean(&|at, deep| self.tone(first + deep, at)),
            mean(&|at, deep| self.tone(last - deep, at)),
        ];
        self.paper() - sides.into_iter().fold(f64::MIN, f64::max)
    }

    fn ink(&self, contrast: f64) -> Ink {
        let closed = closed(&self.tones, self.side);
        let (from, to) = (AROUND + INSET, AROUND + side() - INSET);
        let middle = (from + to - 1) as f64 / 2.0;
        let paper = self.paper();
        let mut strokes = Vec::new();
        let (mut ink, mut broad, mut n, mut at_x, mut at_y) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for y in from..to {
            for x in from..to {
                let tone = self.tone(x, y);
                let stroke = (closed[(y * self.side + x) as usize] - tone) / contrast.max(1.0);
                strokes.push(stroke);
                let dark = (paper - tone) / contrast.max(1.0);
                let counted = (stroke - 0.12).max(0.0);
                (ink, n) = (ink + counted, n + 1.0);
                broad += dark.max(0.0);
                at_x += counted * (x as f64 - middle);
                at_y += counted * (y as f64 - middle);
            }
        }
        strokes.sort_by(f64::total_cmp);
        let peak = strokes[strokes.len() * 19 / 20];
        let off = (at_x.abs().max(at_y.abs())) / f64::max(ink, 1e-9);
        Ink { ink: 1000.0 * ink / n, broad: 1000.0 * broad / n, off, peak }
    }

    fn paper(&self) -> f64 {
        let mut outside = Vec::new();
        for at in 0..self.side {
            for edge in [1, 3, self.side - 4, self.side - 2] {
                outside.push(self.tone(at, edge));
                outside.push(self.tone(edge, at));
            }
        }
        middle_tone(outside)
    }
}

fn middle_tone(mut tones: Vec<f64>) -> f64 {
    tones.sort_by(f64::total_cmp);
    tones.get(tones.len() / 2).copied().unwrap_or_default()
}

/// Morphological closing: the greatest tone nearby, then the least of those. Dark strokes thinner than
/// the window vanish, edges and broad areas stay (Serra, Image Analysis and Mathematical Morphology;
/// from memory).
fn closed(tones: &[f64], side: i64) -> Vec<f64> {
    let wide = passes(tones, side, f64::max);
    passes(&wide, side, f64::min)
}

fn passes(tones: &[f64], side: i64, pick: fn(f64, f64) -> f64) -> Vec<f64> {
    let at = |x: i64, y: i64| (y * side + x) as usize;
    let near = |v: i64| (v - STROKE_HALF).max(0)..=(v + STROKE_HALF).min(side - 1);
    let mut rows = tones.to_vec();
    for y in 0..side {
        for x in 0..side {
            rows[at(x, y)] =
                near(x).map(|i| tones[at(i, y)]).reduce(pick).expect("a window holds its middle");
        }
    }
    let mut both = rows.clone();
    for y in 0..side {
        for x in 0..side {
            both[at(x, y)] =
                near(y).map(|j| rows[at(x, j)]).reduce(pick).expect("a window holds its middle");
        }
    }
    both
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two boxes with the outline of a zone that is due, one below the other, 60 pixels apart as on a sheet.
    fn two_boxes() -> GrayPicture {
        let (wide, high, thick) = (80, 160, 6);
        let mut tones = vec![255; (wide * high) as usize];
        for top in [10, 70] {
            for (x, y) in (0..side()).flat_map(|y| (0..side()).map(move |x| (x, y))) {
                let within = |v: i64| v >= thick && v < side() - thick;
                if !(within(x) && within(y)) {
                    tones[((top + y) * wide + 20 + x) as usize] = 0;
                }
            }
        }
        GrayPicture::new(wide as usize, high as usize, tones).unwrap()
    }

    #[test]
    fn parts_of_two_boxes_are_never_sure() {
        let at = TickBox { row: 0, column: 0, x: 25, y: 43 };
        assert_eq!(place(&at), (20, 34));
        let measured = |down: i64| {
            let offset = Offset { by: (0, down), contrast: 200.0 };
            measure(&two_boxes(), &at, &offset, false)
        };
        for own in [-24, -23, -25] {
            assert!(!measured(own).unsure && !measured(own).ticked, "{own}");
        }
        for between in -14..=26 {
            assert!(measured(between).unsure, "{between}: {:?}", measured(between));
        }
    }
}
