//! Seeing the floor: the shortest closed walk from which all of it is seen, and the fewest places that see it.
//!
//! What counts as seen is proved by what is left of the floor after every view is taken away from it, never by samples
//! ([`geometry::Cover`]). Samples (witnesses) only guide the search; where something is left, it becomes a witness.

mod bound;
mod cuts;
mod orders;
mod pool;
mod scene;
mod search;
mod seek;
mod shift;
mod windows;

pub use scene::{Place, Scene};

use crate::effort::Effort;
use geometry::sweep::Scratch;
use geometry::{Cover, Point};
use seek::search_for;

/// A closed walk and what is seen from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// Its length, in the scene's unit.
    pub length: f64,
    /// Where one looks, in walking order.
    pub viewpoints: Vec<Place>,
    /// Which of them the walk passes anyway: leaving them out would not shorten it.
    pub in_passing: Vec<bool>,
    /// The walk as corners, closed by its first.
    pub walk: Vec<Place>,
    /// What no viewpoint sees, in the square of the scene's unit.
    pub unseen_area: f64,
    /// The floor that had to be seen.
    pub floor_area: f64,
    /// No closed walk that sees all can be shorter than this.
    pub bound: f64,
    /// No closed walk that sees these places can be: with them anybody can work the bound out.
    pub bound_by: Vec<Place>,
}

/// Narrower pieces than this share of the extent are taken as seen.
pub(crate) const NARROW: f64 = 1e-7;

/// The shortest closed walk that the effort allows from which all of the floor is seen.
pub fn walk_that_sees(scene: &Scene<'_>, effort: &mut Effort<'_>) -> Walk {
    let mut found = search_for(scene, effort, false);
    let (length, walk) = drawn(scene, &found.places);
    let (bound, bound_by) = least(scene, &mut found, (length, &walk), effort.taken());
    let mut viewpoints = found.places;
    let in_passing = passed(scene, &viewpoints);
    let unseen_area = left(scene, &viewpoints).0;
    viewpoints.shrink_to_fit();
    Walk {
        length,
        viewpoints,
        in_passing,
        walk,
        unseen_area,
        floor_area: scene.floor_area(),
        bound,
        bound_by,
    }
}

/// The places of that walk alone, without what it needs to be drawn and bounded.
pub(crate) fn places_of_walk(scene: &Scene<'_>, effort: &mut Effort<'_>) -> Vec<Place> {
    search_for(scene, effort, false).places
}

/// A length that no closed walk that sees all is below, and the places that say so. The longer the search, the more is
/// done for it.
fn least(
    scene: &Scene<'_>,
    found: &mut seek::Found<'_>,
    (length, walk): (f64, &[Place]),
    steps: u64,
) -> (f64, Vec<Place>) {
    // Of walks that may leave something unseen nothing is said.
    if scene.spare_area() > 0.0 {
        return (0.0, Vec::new());
    }
    let mut telling = found.telling();
    let [first, second] = found.hidden();
    let trees = [&first, &second].map(|hidden| bound::least_walk(scene, hidden, length));
    let (tree, hidden, rest) =
        if trees[0] > trees[1] { (trees[0], first, second) } else { (trees[1], second, first) };
    telling.extend(rest);
    let known = cuts::Known { hidden: &hidden, telling: &telling, walk, length };
    let work_of_step = WORK_OF_STEP + (found.places.len() * found.places.len() * 3 / 2) as u64;
    let work = WORK_LEAST + work_of_step.saturating_mul(steps);
    let (orders, by) = cuts::least_by_orders(scene, &known, work);
    if orders > tree { (orders.min(length), by) } else { (tree.min(length), hidden) }
}

/// Lengths looked at for the bound: at the least; and for each step of the search, to which come three for each pair of
/// viewpoints, since a step takes the longer the more there are. That makes about a tenth of the time of the search.
const WORK_LEAST: u64 = 2_000_000;
const WORK_OF_STEP: u64 = 1000;

/// As few places as the effort allows from which all of the floor is seen, and a number below which none suffice.
pub fn fewest_viewpoints(scene: &Scene<'_>, effort: &mut Effort<'_>) -> (Vec<Place>, usize) {
    let mut found = search_for(scene, effort, true);
    let least = found.hidden().iter().map(Vec::len).max().unwrap_or(0);
    (found.places, least)
}

/// Of places in walking order those that are needed to see all: of the ones in passing only those that see something
/// that was not seen before, asked forwards and then, of those left, backwards.
fn needed(scene: &Scene<'_>, places: Vec<Place>) -> Vec<Place> {
    let passing = passed(scene, &places);
    let mut keep: Vec<bool> = vec![true; places.len()];
    for backwards in [false, true] {
        let mut covers = covers(scene);
        let mut scratch = Scratch::default();
        for (place, _) in places.iter().zip(&passing).filter(|(_, passing)| !**passing) {
            covers[place.floor].see(place.at, scene.range(*place), &mut scratch);
        }
        let mut asked: Vec<usize> = (0..places.len()).filter(|&i| passing[i] && keep[i]).collect();
        if backwards {
            asked.reverse();
        }
        for i in asked {
            let place = places[i];
            let before = covers[place.floor].unseen_area();
            covers[place.floor].see(place.at, scene.range(place), &mut scratch);
            keep[i] = covers[place.floor].unseen_area() < before;
        }
    }
    places.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(place, _)| place).collect()
}

pub(crate) fn covers<'a>(scene: &Scene<'a>) -> Vec<Cover<'a>> {
    let width = scene.extent() * NARROW;
    let floors = scene.meshes.iter().enumerate();
    floors.map(|(floor, mesh)| Cover::new(mesh, width, |t| scene.wanted(floor, t))).collect()
}

pub(crate) type Pieces = Vec<(usize, Vec<Point>)>;

/// The area of a polygon.
fn area(piece: &[Point]) -> f64 {
    let n = piece.len();
    let twice: f64 =
        (0..n).map(|i| (piece[i], piece[(i + 1) % n])).map(|(a, b)| a.x * b.y - b.x * a.y).sum();
    0.5 * twice.abs()
}

/// What is left unseen from some places: its area and its pieces.
pub(crate) fn left(scene: &Scene<'_>, places: &[Place]) -> (f64, Pieces) {
    let (mut scratch, mut area, mut pieces) = (Scratch::default(), 0.0, Vec::new());
    for (floor, mut cover) in covers(scene).into_iter().enumerate() {
        for place in places.iter().filter(|place| place.floor == floor) {
            cover.see(place.at, scene.range(*place), &mut scratch);
        }
        let unseen = cover.unseen();
        area += unseen.area;
        pieces.extend(unseen.pieces.into_iter().map(|(_, piece)| (floor, piece)));
    }
    (area, pieces)
}

/// The walk through places in order, closed, and its length; infinite when a leg cannot be walked.
fn drawn(scene: &Scene<'_>, places: &[Place]) -> (f64, Vec<Place>) {
    let mut walk: Vec<Place> = places.first().copied().into_iter().collect();
    let mut length = 0.0;
    for i in 0..places.len() {
        match scene.trail(places[i], places[(i + 1) % places.len()]) {
            Some((leg, way)) => {
                length += leg;
                walk.extend(way.into_iter().skip(1));
            }
            None => length = f64::INFINITY,
        }
    }
    walk.dedup();
    (length, walk)
}

fn passed(scene: &Scene<'_>, places: &[Place]) -> Vec<bool> {
    let n = places.len();
    let length = |a, b| scene.trail(a, b).map_or(f64::INFINITY, |(length, _)| length);
    let tiny = scene.extent() * 1e-9;
    (0..n)
        .map(|i| {
            let (a, x, b) = (places[(i + n - 1) % n], places[i], places[(i + 1) % n]);
            n > 2 && length(a, x) + length(x, b) - length(a, b) <= tiny
        })
        .collect()
}
