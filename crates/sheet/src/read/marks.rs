//! Finds the corner marks: a dark disc in a white ring in a dark ring, which no turn, tilt or stain
//! makes of anything else on a page.

use super::dark::dark;
use super::homography::Point;
use crate::GrayPicture;

/// The long side to which a picture is reduced for the search, pixels.
const LONG_MAX: usize = 1800;
/// Candidates that are looked at.
const CANDIDATES_MAX: usize = 14;
/// Sets of four that are tried.
const QUADS_MAX: usize = 8;

/// A dark region.
struct Region {
    left: usize,
    right: usize,
    above: usize,
    below: usize,
    area: usize,
    sum_x: usize,
    sum_y: usize,
}

impl Region {
    fn width(&self) -> f64 {
        (self.right - self.left + 1) as f64
    }

    fn height(&self) -> f64 {
        (self.below - self.above + 1) as f64
    }

    fn fill(&self) -> f64 {
        self.area as f64 / (self.width() * self.height())
    }

    fn middle(&self) -> Point {
        let n = self.area as f64;
        (self.sum_x as f64 / n + 0.5, self.sum_y as f64 / n + 0.5)
    }

    fn is_round(&self) -> bool {
        let aspect = self.width() / self.height();
        (0.4..2.5).contains(&aspect)
    }
}

/// Where four marks may be, clockwise in the picture, the likeliest set first.
pub(crate) fn find(picture: &GrayPicture) -> Vec<[Point; 4]> {
    let by = picture.width().max(picture.height()).div_ceil(LONG_MAX).max(1);
    let small = picture.shrunk(by);
    let long = small.width().max(small.height());
    let mut marks: Vec<(Point, f64)> = Vec::new();
    // A wide window for large marks and even light, a narrow one beside a hard shadow.
    for window in [long / 10, long / 22] {
        for (at, size) in marks_in(&small, window.max(15)) {
            let known = |(other, _): &(Point, f64)| apart(*other, at) < size / 2.0;
            if !marks.iter().any(known) {
                marks.push((at, size));
            }
        }
    }
    marks.sort_by(|a, b| b.1.total_cmp(&a.1));
    marks.truncate(CANDIDATES_MAX);
    let scale = by as f64;
    quads(&marks).into_iter().map(|quad| quad.map(|(x, y)| (x * scale, y * scale))).collect()
}

fn marks_in(small: &GrayPicture, window: usize) -> Vec<(Point, f64)> {
    let regions = regions(small, &dark(small, window, 0.80));
    let discs = regions.iter().filter(|r| r.is_round() && r.fill() > 0.6 && r.area >= 12);
    let rings: Vec<&Region> =
        regions.iter().filter(|r| r.is_round() && (0.18..0.66).contains(&r.fill())).collect();
    let mut marks = Vec::new();
    for disc in discs {
        let ring = rings.iter().find(|ring| is_around(ring, disc));
        if let Some(ring) = ring {
            marks.push((disc.middle(), ring.width().max(ring.height())));
        }
    }
    marks
}

/// A disc of 36 in a ring of 90: a share of 0.4.
fn is_around(ring: &Region, disc: &Region) -> bool {
    let inside = ring.left < disc.left
        && ring.right > disc.right
        && ring.above < disc.above
        && ring.below > disc.below;
    let middle = disc.middle();
    let (x, y) =
        ((ring.left + ring.right + 1) as f64 / 2.0, (ring.above + ring.below + 1) as f64 / 2.0);
    inside
        && (0.22..0.6).contains(&(disc.width() / ring.width()))
        && (0.22..0.6).contains(&(disc.height() / ring.height()))
        && (middle.0 - x).abs() < 0.12 * ring.width()
        && (middle.1 - y).abs() < 0.12 * ring.height()
}

/// Regions of dark pixels that touch, corners included; the very large and very small left out.
fn regions(picture: &GrayPicture, dark: &[bool]) -> Vec<Region> {
    let (width, height) = (picture.width(), picture.height());
    let largest = width.max(height) / 6;
    let mut left = dark.to_vec();
    let mut found = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for start in 0..left.len() {
        if !left[start] {
            continue;
        }
        left[start] = false;
        open.push(start);
        let (x, y) = (start % width, start / width);
        let mut region =
            Region { left: x, right: x, above: y, below: y, area: 0, sum_x: 0, sum_y: 0 };
        while let Some(at) = open.pop() {
            let (x, y) = (at % width, at / width);
            region.take(x, y);
            for ny in y.saturating_sub(1)..(y + 2).min(height) {
                for nx in x.saturating_sub(1)..(x + 2).min(width) {
                    let next = ny * width + nx;
                    if left[next] {
                        left[next] = false;
                        open.push(next);
                    }
                }
            }
        }
        let (w, h) = (region.right - region.left + 1, region.below - region.above + 1);
        if w >= 4 && h >= 4 && w <= largest && h <= largest {
            found.push(region);
        }
    }
    found
}

impl Region {
    fn take(&mut self, x: usize, y: usize) {
        self.left = self.left.min(x);
        self.right = self.right.max(x);
        self.above = self.above.min(y);
        self.below = self.below.max(y);
        self.area += 1;
        self.sum_x += x;
        self.sum_y += y;
    }
}

/// Sets of four marks of like size at the corners of a convex figure, the largest figure first.
fn quads(marks: &[(Point, f64)]) -> Vec<[Point; 4]> {
    let n = marks.len();
    let mut quads: Vec<(f64, [Point; 4])> = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                for d in c + 1..n {
                    let sizes = [a, b, c, d].map(|at| marks[at].1);
                    let (least, most) =
                        sizes.iter().fold((f64::MAX, 0.0f64), |(l, m), s| (l.min(*s), m.max(*s)));
                    if most > least * 2.2 {
                        continue;
                    }
                    let quad = clockwise([a, b, c, d].map(|at| marks[at].0));
                    if let Some(area) = convex_area(&quad) {
                        quads.push((area, quad));
                    }
                }
            }
        }
    }
    quads.sort_by(|a, b| b.0.total_cmp(&a.0));
    quads.into_iter().take(QUADS_MAX).map(|(_, quad)| quad).collect()
}

/// Clockwise as seen (y runs down), beginning nearest the upper left corner.
fn clockwise(mut quad: [Point; 4]) -> [Point; 4] {
    let middle =
        (quad.iter().map(|p| p.0).sum::<f64>() / 4.0, quad.iter().map(|p| p.1).sum::<f64>() / 4.0);
    quad.sort_by(|a, b| angle(*a, middle).total_cmp(&angle(*b, middle)));
    let first = (0..4)
        .min_by(|a, b| (quad[*a].0 + quad[*a].1).total_cmp(&(quad[*b].0 + quad[*b].1)))
        .expect("four corners");
    quad.rotate_left(first);
    quad
}

/// Grows with the angle, from 0 to 4, without trigonometry.
fn angle((x, y): Point, (mx, my): Point) -> f64 {
    let (dx, dy) = (x - mx, y - my);
    let along = dx / (dx.abs() + dy.abs()).max(1e-9);
    if dy < 0.0 { 1.0 + along } else { 3.0 - along }
}

/// The area of a convex figure; none if it is not convex.
fn convex_area(quad: &[Point; 4]) -> Option<f64> {
    let mut area = 0.0;
    for at in 0..4 {
        let (a, b, c) = (quad[at], quad[(at + 1) % 4], quad[(at + 2) % 4]);
        let turn = (b.0 - a.0) * (c.1 - b.1) - (b.1 - a.1) * (c.0 - b.0);
        if turn <= 0.0 {
            return None;
        }
        area += a.0 * b.1 - b.0 * a.1;
    }
    Some(area / 2.0)
}

fn apart(a: Point, b: Point) -> f64 {
    (a.0 - b.0).abs().max((a.1 - b.1).abs())
}
