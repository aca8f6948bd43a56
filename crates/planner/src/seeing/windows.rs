//! Where a walk comes to a place's region: at the region's windows, the parts of its outline that are no walls, or through
//! a door or by a stair that ends in it.
//!
//! A window is cut into pieces, each with a mark in its middle: whoever comes in does so nowhere farther from a mark than
//! half of its piece.

use super::scene::{Place, Scene};
use geometry::sweep::Scratch;
use geometry::{Point, Region};

/// The middle of a piece of window, and how far its ends are from there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mark {
    pub(super) place: Place,
    pub(super) half: f64,
}

/// The region from which a place is seen; none where it cannot be told.
pub(super) fn region(scene: &Scene<'_>, place: Place) -> Option<Region> {
    let region = scene.meshes[place.floor].region(place.at, scene.farthest_sight())?;
    // Seen from a wall an outline has parts that are neither.
    region.gaps.is_empty().then_some(region)
}

/// The marks of a region, pieces being no longer than `longest` allows where they lie.
pub(super) fn marks(
    scene: &Scene<'_>,
    place: Place,
    region: &Region,
    longest: &dyn Fn(Point) -> f64,
) -> Vec<Mark> {
    let mut out = Vec::new();
    let step = (longest(region.at) / region.range).clamp(0.05, 0.5);
    for (a, b, spare) in windows(region, step) {
        cut(a, b, longest, &mut |a: Point, b: Point| {
            let place = Place { floor: place.floor, at: a.toward(b, 0.5) };
            out.push(Mark { place, half: 0.5 * a.distance(b) + spare });
        });
    }
    let ends = scene.placed_on(place.floor, scene.portals());
    if !scene.portals().is_empty() {
        let mut all = scene.placed(&[]);
        all[place.floor] = ends;
        let seen = scene.seen(place, scene.farthest_sight(), &all, &mut Scratch::default());
        let inside = seen.into_iter().map(|p| scene.portals()[p as usize]);
        out.extend(inside.map(|place| Mark { place, half: 0.0 }));
    }
    out
}

/// The straight pieces of the windows, arcs as chords of so many radians, and how far the outline may lie beyond each.
fn windows(region: &Region, step: f64) -> Vec<(Point, Point, f64)> {
    let n = region.pieces.len();
    let sagitta =
        if region.range.is_finite() { region.range * (1.0 - libm::cos(step / 2.0)) } else { 0.0 };
    let mut out = Vec::new();
    for i in 0..n {
        let (piece, next) = (region.pieces[i], region.pieces[(i + 1) % n]);
        if piece.arc {
            let chords = region.chords_of(i, step);
            out.extend(chords.windows(2).map(|ends| (ends[0], ends[1], sagitta)));
        }
        // Between two pieces the outline runs along the line of sight.
        if piece.b != next.a {
            out.push((piece.b, next.a, 0.0));
        }
    }
    out
}

/// Halves a piece until it is short enough.
fn cut(a: Point, b: Point, longest: &dyn Fn(Point) -> f64, take: &mut dyn FnMut(Point, Point)) {
    let middle = a.toward(b, 0.5);
    if a.distance(b) <= longest(middle) {
        take(a, b);
    } else {
        cut(a, middle, longest, take);
        cut(middle, b, longest, take);
    }
}
