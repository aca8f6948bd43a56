//! What is not yet seen, exactly: the floor's triangles as cells, each with the convex pieces of it that no view has
//! reached. A view is subtracted only in the triangles it enters, wedge by wedge; a range cuts as an inscribed polygon,
//! so that what is seen is never overstated.

use crate::mesh::Mesh;
use crate::point::Point;
use crate::sweep::{Scratch, Through, Visitor, Wedge};

/// Sides of the polygon that stands for the circle of a range: its inner radius is 0.9978 of the range.
const CIRCLE_SIDES: usize = 48;

/// What is left unseen.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Unseen {
    /// Its area.
    pub area: f64,
    /// Its pieces: the triangle and a convex polygon in it.
    pub pieces: Vec<(u32, Vec<Point>)>,
}

/// The floor not yet seen.
#[derive(Debug, Clone)]
pub struct Cover<'a> {
    mesh: &'a Mesh,
    cells: Vec<Vec<Vec<Point>>>,
    /// Pieces narrower than this are taken as seen.
    pub width_min: f64,
    /// The area of what was taken as seen because it was too narrow.
    pub narrow_area: f64,
}

impl<'a> Cover<'a> {
    /// All of the floor unseen, save triangles that `inspected` leaves out by number. Pieces narrower than `width_min` are
    /// dropped, and their area is counted.
    pub fn new(mesh: &'a Mesh, width_min: f64, inspected: impl Fn(u32) -> bool) -> Self {
        let cells = (0..mesh.triangles.len())
            .map(|t| if inspected(t as u32) { vec![mesh.corners(t).to_vec()] } else { Vec::new() })
            .collect();
        Self { mesh, cells, width_min, narrow_area: 0.0 }
    }

    /// Takes away what is seen from `p` within `range`; false when `p` is not on the floor.
    pub fn see(&mut self, p: Point, range: f64, scratch: &mut Scratch) -> bool {
        let mesh = self.mesh;
        let mut seeing = Seeing { cover: self, p, range, sides: circle(p, range) };
        mesh.sweep(p, range, Through::Sight, scratch, &mut seeing)
    }

    /// What is left.
    pub fn unseen(&self) -> Unseen {
        let mut unseen = Unseen::default();
        for (t, pieces) in self.cells.iter().enumerate() {
            for piece in pieces {
                unseen.area += area(piece);
                unseen.pieces.push((t as u32, piece.clone()));
            }
        }
        unseen
    }

    /// The area of what is left.
    pub fn unseen_area(&self) -> f64 {
        self.cells.iter().flatten().map(|piece| area(piece)).sum()
    }
}

struct Seeing<'a, 'b> {
    cover: &'b mut Cover<'a>,
    p: Point,
    range: f64,
    sides: Vec<(Point, Point)>,
}

impl Visitor for Seeing<'_, '_> {
    fn start(&mut self, t: u32) {
        self.take(t, &[]);
    }

    fn enter(&mut self, t: u32, wedge: Wedge) {
        // Inside is on the left of each of these.
        self.take(t, &[(self.p, wedge.right), (wedge.left, self.p)]);
    }
}

impl Seeing<'_, '_> {
    fn take(&mut self, t: u32, wedge: &[(Point, Point)]) {
        if self.cover.cells[t as usize].is_empty() {
            return;
        }
        let inner2 = self.range * self.range * 0.995;
        let corners = self.cover.mesh.corners(t as usize);
        let far = self.range.is_finite() && corners.iter().any(|c| self.p.distance2(*c) > inner2);
        let sides: &[(Point, Point)] = if far { &self.sides } else { &[] };
        let before = std::mem::take(&mut self.cover.cells[t as usize]);
        let mut left = Vec::with_capacity(before.len());
        for piece in before {
            outside(piece, wedge.iter().chain(sides), &mut left);
        }
        let width_min = self.cover.width_min;
        let narrow_area = &mut self.cover.narrow_area;
        left.retain(|part| {
            let narrow = width(part) < width_min;
            if narrow {
                *narrow_area += area(part);
            }
            !narrow
        });
        self.cover.cells[t as usize] = left;
    }
}

/// The parts of a convex piece outside the convex area on the left of all `sides`; the piece as it is when they share
/// no area.
fn outside<'s>(
    piece: Vec<Point>,
    sides: impl Iterator<Item = &'s (Point, Point)>,
    out: &mut Vec<Vec<Point>>,
) {
    let mut rest: Option<Vec<Point>> = None;
    let mark = out.len();
    for &(a, b) in sides {
        let Some((inside, outside)) = cut(rest.as_ref().unwrap_or(&piece), a, b) else { continue };
        let Some(inside) = inside else {
            out.truncate(mark);
            out.push(piece);
            return;
        };
        out.extend(outside);
        rest = Some(inside);
    }
}

type Cut = (Option<Vec<Point>>, Option<Vec<Point>>);

/// Cuts a convex piece along the line `a b` into what lies on its left and on its right; none when all is on the left.
fn cut(piece: &[Point], a: Point, b: Point) -> Option<Cut> {
    let sides: Vec<f64> = piece.iter().map(|&c| side(a, b, c)).collect();
    if sides.iter().all(|&s| s >= 0.0) {
        return None;
    }
    if sides.iter().all(|&s| s <= 0.0) {
        return Some((None, Some(piece.to_vec())));
    }
    let (mut left, mut right) =
        (Vec::with_capacity(piece.len() + 1), Vec::with_capacity(piece.len() + 1));
    for i in 0..piece.len() {
        let j = (i + 1) % piece.len();
        let (c, d, s, t) = (piece[i], piece[j], sides[i], sides[j]);
        if s >= 0.0 {
            left.push(c);
        }
        if s <= 0.0 {
            right.push(c);
        }
        if (s > 0.0 && t < 0.0) || (s < 0.0 && t > 0.0) {
            let at = c.toward(d, s / (s - t));
            left.push(at);
            right.push(at);
        }
    }
    Some(((left.len() >= 3).then_some(left), (right.len() >= 3).then_some(right)))
}

#[inline]
fn side(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// The area of a convex polygon that runs counter-clockwise.
pub(crate) fn area(piece: &[Point]) -> f64 {
    let Some(&origin) = piece.first() else { return 0.0 };
    0.5 * (1..piece.len().saturating_sub(1))
        .map(|i| side(origin, piece[i], piece[i + 1]))
        .sum::<f64>()
}

/// Roughly how wide a convex polygon is: its double area over its longest diagonal from the first corner.
fn width(piece: &[Point]) -> f64 {
    let longest2 =
        piece.iter().flat_map(|a| piece.iter().map(move |b| a.distance2(*b))).fold(0.0, f64::max);
    if longest2 > 0.0 { 2.0 * area(piece) / libm::sqrt(longest2) } else { 0.0 }
}

/// The sides of the polygon inscribed in the circle of the range, inside on their left.
fn circle(p: Point, range: f64) -> Vec<(Point, Point)> {
    if range.is_infinite() {
        return Vec::new();
    }
    let corner = |k: usize| {
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * k as f64 / CIRCLE_SIDES as f64);
        Point::new(p.x + range * cos, p.y + range * sin)
    };
    (0..CIRCLE_SIDES).map(|k| (corner(k), corner((k + 1) % CIRCLE_SIDES))).collect()
}
