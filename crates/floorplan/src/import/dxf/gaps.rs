//! Gaps of door size: where a wall ends free or turns, its line is drawn on; if another wall is met within a door's
//! width, the piece between is a door or a passage.

use super::drawing::Stroke;
use geometry::clean::clean;
use geometry::{Grid, Point};

/// A gap between walls, as the line that closes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gap {
    pub(super) a: Point,
    pub(super) b: Point,
    pub(super) size: Size,
}

/// How wide a gap is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Size {
    /// Too narrow to walk through: walls meant to meet.
    Slip,
    /// As wide as a door.
    Door,
    /// Where the drawing shows a window: closed, whatever its width.
    Window,
    /// Where the drawing shows a door: as wide as any.
    Shown,
}

/// Narrower gaps are slips of the pen, in millimetres (ours).
const DOOR_MIN_MM: f64 = 550.0;
/// The widest single door taken for one without a sign of it, in millimetres (ours).
const DOOR_MAX_MM: f64 = 1_300.0;
/// The widest door that the drawing shows, in millimetres (ours).
const SHOWN_MAX_MM: f64 = 3_000.0;
/// A wall's end this near to the line drawn on is the one meant, in millimetres.
const ASIDE_MM: f64 = 60.0;
/// Jambs are no wider than the thickest wall, in millimetres.
const JAMB_MAX_MM: f64 = 800.0;

/// Boxes around the signs of doors.
pub(super) struct Signs(Vec<(Point, Point)>);

impl Signs {
    /// One box for each entity on the door layers; what overlaps is one sign.
    pub(super) fn new<'a>(strokes: impl Iterator<Item = &'a Stroke>) -> Self {
        let mut boxes: Vec<(usize, Point, Point)> = Vec::new();
        for stroke in strokes {
            let lo = Point::new(stroke.a.x.min(stroke.b.x), stroke.a.y.min(stroke.b.y));
            let hi = Point::new(stroke.a.x.max(stroke.b.x), stroke.a.y.max(stroke.b.y));
            match boxes.last_mut().filter(|(entity, ..)| *entity == stroke.entity) {
                Some((_, l, h)) => {
                    *l = Point::new(l.x.min(lo.x), l.y.min(lo.y));
                    *h = Point::new(h.x.max(hi.x), h.y.max(hi.y));
                }
                None => boxes.push((stroke.entity, lo, hi)),
            }
        }
        Self(boxes.into_iter().map(|(_, lo, hi)| (lo, hi)).collect())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether a door is shown at a place.
    pub(super) fn at(&self, p: Point) -> bool {
        let reach = 200.0;
        self.0.iter().any(|(lo, hi)| {
            lo.x - reach <= p.x && p.x <= hi.x + reach && lo.y - reach <= p.y && p.y <= hi.y + reach
        })
    }
}

/// Doors in glass whose line runs on under them: where a sign of a door belongs to no gap, the longest piece of glass
/// within it opens.
pub(super) fn in_glass(glass: &[(Point, Point)], doors: &Signs, gaps: &[Gap]) -> Vec<Gap> {
    let mut out: Vec<Gap> = Vec::new();
    for &(lo, hi) in &doors.0 {
        let holds = |p: Point| {
            lo.x - 200.0 <= p.x && p.x <= hi.x + 200.0 && lo.y - 200.0 <= p.y && p.y <= hi.y + 200.0
        };
        let walked = |gap: &&Gap| matches!(gap.size, Size::Shown | Size::Door);
        let mut known = gaps.iter().chain(&out).filter(walked);
        if known.any(|gap| holds(gap.a.toward(gap.b, 0.5))) {
            continue;
        }
        let pieces = glass.iter().filter_map(|&(a, b)| clipped(a, b, lo, hi));
        let longest = pieces.max_by(|x, y| x.0.distance(x.1).total_cmp(&y.0.distance(y.1)));
        let Some((a, b)) = longest else { continue };
        if (DOOR_MIN_MM..=SHOWN_MAX_MM).contains(&a.distance(b)) {
            let (a, b) = if (a.x, a.y) <= (b.x, b.y) { (a, b) } else { (b, a) };
            out.push(Gap { a, b, size: Size::Shown });
        }
    }
    out
}

/// The piece of a line within a box that reaches a little farther (Y.-D. Liang and B. A. Barsky, 1984).
fn clipped(a: Point, b: Point, lo: Point, hi: Point) -> Option<(Point, Point)> {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (step, room) in [
        (-dx, a.x - lo.x + ASIDE_MM),
        (dx, hi.x + ASIDE_MM - a.x),
        (-dy, a.y - lo.y + ASIDE_MM),
        (dy, hi.y + ASIDE_MM - a.y),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            from = from.max(room / step);
        } else {
            to = to.min(room / step);
        }
    }
    (from < to).then(|| (a.toward(b, from), a.toward(b, to)))
}

/// Finds the gaps between walls by the signs of doors and windows, and where walls end free with nothing to close to.
pub(super) fn gaps(
    walls: &[(Point, Point)],
    signs: &[Signs; 2],
    grid: Grid,
) -> (Vec<Gap>, Vec<Point>) {
    let marked: Vec<(Point, Point, u32)> = walls.iter().map(|&(a, b)| (a, b, 0)).collect();
    let cleaned = clean(&marked, grid);
    let points = &cleaned.points;
    let mut around: Vec<Vec<u32>> = vec![Vec::new(); points.len()];
    for segment in &cleaned.segments {
        around[segment.a as usize].push(segment.b);
        around[segment.b as usize].push(segment.a);
    }
    let index = Index::new(points, &cleaned.segments);
    let (mut found, mut loose) = (Vec::new(), Vec::new());
    for v in 0..points.len() as u32 {
        let at = points[v as usize];
        let near = &around[v as usize];
        let free = near.len() == 1;
        if near.is_empty() || near.len() > 2 {
            continue;
        }
        let mut closed = false;
        for &from in near {
            let Some(direction) = drawn_on(points, v, from, near) else { continue };
            if let Some(gap) = across(points, &index, at, direction, signs, free) {
                closed = true;
                found.push(gap);
            }
        }
        if free && !closed {
            loose.push(at);
        }
    }
    found.sort_by(|x, y| order(x).partial_cmp(&order(y)).unwrap_or(std::cmp::Ordering::Equal));
    found.dedup_by(|x, y| x.a == y.a && x.b == y.b);
    (found, loose)
}

fn order(gap: &Gap) -> [f64; 4] {
    [gap.a.x, gap.a.y, gap.b.x, gap.b.y]
}

/// The direction in which a wall from `from` runs on at its end; none where a second wall makes that no end of it.
fn drawn_on(points: &[Point], v: u32, from: u32, near: &[u32]) -> Option<Point> {
    let (at, start) = (points[v as usize], points[from as usize]);
    let length = at.distance(start);
    let direction = Point::new((at.x - start.x) / length, (at.y - start.y) / length);
    if let Some(&other) = near.iter().find(|&&other| other != from) {
        let on = points[other as usize];
        let jamb = at.distance(on);
        let along = ((on.x - at.x) * direction.x + (on.y - at.y) * direction.y) / jamb;
        // The long face runs on past its short jamb, across which the wall turns about a right angle.
        if jamb > JAMB_MAX_MM || jamb >= length || along > 0.5 {
            return None;
        }
    }
    Some(direction)
}

/// What the line from `at` meets first, when it is near enough to be the other side of a gap.
fn across(
    points: &[Point],
    index: &Index,
    at: Point,
    direction: Point,
    [doors, windows]: &[Signs; 2],
    free: bool,
) -> Option<Gap> {
    let end = Point::new(at.x + direction.x * SHOWN_MAX_MM, at.y + direction.y * SHOWN_MAX_MM);
    let (mut best, mut hit) = (f64::INFINITY, at);
    for &(a, b) in &index.near(at, end) {
        let (a, b) = (points[a as usize], points[b as usize]);
        for p in [a, b] {
            let (dx, dy) = (p.x - at.x, p.y - at.y);
            let along = dx * direction.x + dy * direction.y;
            let aside = (dx * direction.y - dy * direction.x).abs();
            if along > 1.0 && aside <= ASIDE_MM && along < best + ASIDE_MM / 2.0 {
                (best, hit) = (along.min(best), p);
            }
        }
        let side = |p: Point| (p.x - at.x) * direction.y - (p.y - at.y) * direction.x;
        let (s, t) = (side(a), side(b));
        if (s > ASIDE_MM && t < -ASIDE_MM) || (s < -ASIDE_MM && t > ASIDE_MM) {
            let p = a.toward(b, s / (s - t));
            let along = (p.x - at.x) * direction.x + (p.y - at.y) * direction.y;
            if along > 1.0 && along < best {
                (best, hit) = (along, p);
            }
        }
    }
    let middle = at.toward(hit, 0.5);
    let size = match best {
        width if width < DOOR_MIN_MM => free.then_some(Size::Slip)?,
        width if width <= SHOWN_MAX_MM && doors.at(middle) => Size::Shown,
        width if width <= SHOWN_MAX_MM && windows.at(middle) => Size::Window,
        width if width <= DOOR_MAX_MM => Size::Door,
        _ => return None,
    };
    let (a, b) = if (at.x, at.y) <= (hit.x, hit.y) { (at, hit) } else { (hit, at) };
    Some(Gap { a, b, size })
}

/// Segments by square cell, to find those near a line.
struct Index {
    cells: std::collections::BTreeMap<(i64, i64), Vec<(u32, u32)>>,
}

const CELL_MM: f64 = 2_000.0;

impl Index {
    fn new(points: &[Point], segments: &[geometry::clean::Segment]) -> Self {
        let mut index = Self { cells: std::collections::BTreeMap::new() };
        for segment in segments {
            let (a, b) = (points[segment.a as usize], points[segment.b as usize]);
            // Along the segment in steps of half a cell: each cell it passes is met, or a neighbour of it.
            let steps = libm::ceil(a.distance(b) / (CELL_MM / 2.0)).max(1.0);
            for k in 0..=steps as usize {
                let cell = cell(a.toward(b, k as f64 / steps));
                let list = index.cells.entry(cell).or_default();
                if list.last() != Some(&(segment.a, segment.b)) {
                    list.push((segment.a, segment.b));
                }
            }
        }
        index
    }

    fn near(&self, a: Point, b: Point) -> Vec<(u32, u32)> {
        let ((x, y), (i, j)) = (cell(a), cell(b));
        let mut out = Vec::new();
        for column in x.min(i) - 1..=x.max(i) + 1 {
            for row in y.min(j) - 1..=y.max(j) + 1 {
                out.extend(self.cells.get(&(column, row)).into_iter().flatten().copied());
            }
        }
        out.sort_unstable();
        out.dedup();
        out
    }
}

fn cell(p: Point) -> (i64, i64) {
    (libm::floor(p.x / CELL_MM) as i64, libm::floor(p.y / CELL_MM) as i64)
}
