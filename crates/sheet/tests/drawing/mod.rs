//! Draws a page as pixels, with ticks as a hand makes them, so that reading can be tried without a
//! typesetter. Words are drawn as grey bars of about their length: what matters is that something is there.

use sheet::{GrayPicture, Item, Page, modules};

/// What a hand did to the page.
#[derive(Debug, Clone, Default)]
pub(crate) struct Hand {
    /// Decides which boxes are ticked and how.
    pub(crate) seed: u64,
    /// Boxes that are filled black.
    pub(crate) filled: Vec<usize>,
    /// Boxes with a mark too small for a tick.
    pub(crate) specks: Vec<usize>,
}

/// Which boxes were ticked.
pub(crate) fn truth(page: &Page, hand: &Hand) -> Vec<bool> {
    let boxes = page.grid().map_or(0, |grid| grid.boxes().count());
    (0..boxes)
        .map(|at| {
            let odd = hand.filled.contains(&at) || hand.specks.contains(&at);
            !odd && random(hand.seed, at as u64) % 100 < 60
        })
        .collect()
}

/// A page at `scale` pixels to a tenth of a millimetre.
pub(crate) fn draw(page: &Page, scale: f64, hand: &Hand) -> GrayPicture {
    let (w, h) = page.code.size.extent();
    let pixels = |tenths: i32| (f64::from(tenths) * scale) as usize;
    let mut canvas = Canvas { picture: GrayPicture::plain(pixels(w), pixels(h), 244), scale };
    for item in &page.items {
        canvas.item(item);
    }
    let Some(grid) = page.grid() else { return canvas.picture };
    for (at, (place, ticked)) in grid.boxes().zip(truth(page, hand)).enumerate() {
        let (x, y) = (f64::from(place.x), f64::from(place.y));
        if hand.filled.contains(&at) {
            canvas.rectangle(x + 4.0, y + 4.0, x + 46.0, y + 46.0, 40);
        } else if hand.specks.contains(&at) {
            canvas.stroke((x + 22.0, y + 24.0), (x + 29.0, y + 28.0), 4.0, 60);
        } else if ticked {
            canvas.tick(x, y, random(hand.seed, 1000 + at as u64));
        }
    }
    canvas.picture
}

/// SplitMix64 (Steele, Lea, Flood 2014).
fn random(seed: u64, at: u64) -> u64 {
    let mut z = seed.wrapping_add((at + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15));
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

type Point = (f64, f64);

struct Canvas {
    picture: GrayPicture,
    scale: f64,
}

impl Canvas {
    fn item(&mut self, item: &Item) {
        match item {
            Item::Text { x, y, w, h, size, text, .. } => {
                let long = (text.chars().count() as i32 * size / 6).min(*w);
                let high = (size / 4).min(*h);
                self.rectangle(
                    (*x).into(),
                    (*y).into(),
                    f64::from(x + long),
                    f64::from(y + high),
                    150,
                );
            }
            Item::Line { from, to, weight, .. } => {
                let point = |(x, y): (i32, i32)| (f64::from(x), f64::from(y));
                self.stroke(point(*from), point(*to), f64::from(*weight), 60);
            }
            Item::Frame { x, y, w, h, weight, .. } => {
                let (x, y, w, h, t) = (
                    f64::from(*x),
                    f64::from(*y),
                    f64::from(*w),
                    f64::from(*h),
                    f64::from(*weight),
                );
                self.rectangle(x, y, x + w, y + t, 30);
                self.rectangle(x, y + h - t, x + w, y + h, 30);
                self.rectangle(x, y, x + t, y + h, 30);
                self.rectangle(x + w - t, y, x + w, y + h, 30);
            }
            Item::Disc { at, r, ink } => {
                let tone = if *ink == sheet::Ink::White { 244 } else { 30 };
                let (x, y, r) = (f64::from(at.0), f64::from(at.1), f64::from(*r));
                self.fill(x - r, y - r, x + r, y + r, tone, |px, py| {
                    (px - x) * (px - x) + (py - y) * (py - y) <= r * r
                });
            }
            Item::Code { x, y, side, text, .. } => {
                let code = modules(text).expect("a code's text fits");
                let module = f64::from(*side) / (code.side + 8) as f64;
                for row in 0..code.side {
                    for column in (0..code.side).filter(|column| code.is_dark(*column, row)) {
                        let left = f64::from(*x) + module * (column + 4) as f64;
                        let above = f64::from(*y) + module * (row + 4) as f64;
                        self.rectangle(left, above, left + module, above + module, 30);
                    }
                }
            }
        }
    }

    fn rectangle(&mut self, left: f64, above: f64, right: f64, below: f64, tone: u8) {
        self.fill(left, above, right, below, tone, |_, _| true);
    }

    fn stroke(&mut self, from: (f64, f64), to: (f64, f64), weight: f64, tone: u8) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let long = (dx * dx + dy * dy).max(1e-9);
        let half = weight.max(2.0) / 2.0;
        let (left, right) = (from.0.min(to.0) - half, from.0.max(to.0) + half);
        let (above, below) = (from.1.min(to.1) - half, from.1.max(to.1) + half);
        self.fill(left, above, right, below, tone, |x, y| {
            let along = (((x - from.0) * dx + (y - from.1) * dy) / long).clamp(0.0, 1.0);
            let (ox, oy) = (x - from.0 - along * dx, y - from.1 - along * dy);
            ox * ox + oy * oy <= half * half
        });
    }

    /// A tick or a cross, a little off and sometimes over the edge.
    fn tick(&mut self, x: f64, y: f64, random: u64) {
        let part = |shift: u32, wide: u64| ((random >> shift) % wide) as f64;
        let (x, y) = (x + part(0, 9) - 4.0, y + part(8, 9) - 4.0);
        let (weight, tone) = (4.0 + part(16, 4), (20 + (random >> 24) % 90) as u8);
        let ends: &[(Point, Point)] = match random % 3 {
            0 => &[((10.0, 10.0), (40.0, 40.0)), ((40.0, 10.0), (10.0, 40.0))],
            _ => &[((10.0, 25.0), (22.0, 40.0)), ((22.0, 40.0), (46.0, 2.0))],
        };
        for (from, to) in ends {
            self.stroke((x + from.0, y + from.1), (x + to.0, y + to.1), weight, tone);
        }
    }

    /// Covers every pixel whose middle lies inside, each a mean of nine points.
    fn fill(
        &mut self,
        left: f64,
        above: f64,
        right: f64,
        below: f64,
        tone: u8,
        inside: impl Fn(f64, f64) -> bool,
    ) {
        let low = |v: f64| (v * self.scale).floor().max(0.0) as usize;
        let high = |v: f64| (v * self.scale).ceil().max(0.0) as usize;
        for py in low(above)..high(below) {
            for px in low(left)..high(right) {
                let points = (0..9).filter(|at| {
                    let x = (px as f64 + (f64::from(at % 3) + 0.5) / 3.0) / self.scale;
                    let y = (py as f64 + (f64::from(at / 3) + 0.5) / 3.0) / self.scale;
                    (left..right).contains(&x) && (above..below).contains(&y) && inside(x, y)
                });
                let share = points.count() as f64 / 9.0;
                let before = f64::from(self.picture.at(px as i64, py as i64));
                let mixed = before * (1.0 - share) + f64::from(tone) * share;
                self.picture.set(px, py, (mixed + 0.5) as u8);
            }
        }
    }
}
