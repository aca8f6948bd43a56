//! Viewpoints for large floors in bounded time: always the place that sees most of what is still unseen, among door
//! middles, middles of triangles and, for what is left at last, the unseen pieces themselves.

use crate::random::Random;
use crate::seeing::{Place, Scene, covers, left};
use geometry::Point;
use geometry::sweep::Scratch;

/// Witnesses for each million square units (a square metre on a plan), and at most in all.
const WITNESSES_MAX: f64 = 20_000.0;
/// Rounds over the pieces that the witnesses missed.
const ROUNDS_MAX: usize = 6;
/// Pieces looked at in one round.
const PIECES_MAX: usize = 300;
/// Pieces smaller than this share of the floor are not worth a viewpoint of their own.
const SMALL_PIECE: f64 = 2e-6;

/// Places that, with those where somebody stands anyway, see all but crumbs of the floor.
pub(super) fn places(scene: &Scene<'_>, standing: &[Place], seed: u64) -> Vec<Place> {
    let mut random = Random::new(seed);
    let witnesses = witnesses(scene, &mut random);
    let mut chosen = Vec::new();
    cover_witnesses(scene, &witnesses, standing, &mut chosen);
    for _ in 0..ROUNDS_MAX {
        let all: Vec<Place> = standing.iter().chain(&chosen).copied().collect();
        if !cover_pieces(scene, &all, &mut chosen) {
            break;
        }
    }
    chosen
}

/// The middle of every triangle, and places all over the floor.
fn witnesses(scene: &Scene<'_>, random: &mut Random) -> Vec<Place> {
    let each = (scene.floor_area() / WITNESSES_MAX).max(1e6);
    let mut out = Vec::new();
    for (floor, mesh) in scene.meshes.iter().enumerate() {
        for t in (0..mesh.triangles.len()).filter(|&t| scene.wanted(floor, t as u32)) {
            out.push(Place { floor, at: mesh.middle(t) });
            let [a, b, c] = mesh.corners(t);
            for _ in 0..(mesh.triangle_area(t) / each) as usize {
                let (mut u, mut v) = (random.unit(), random.unit());
                if u + v > 1.0 {
                    (u, v) = (1.0 - u, 1.0 - v);
                }
                let (x, y) = (
                    a.x + u * (b.x - a.x) + v * (c.x - a.x),
                    a.y + u * (b.y - a.y) + v * (c.y - a.y),
                );
                out.push(Place { floor, at: Point::new(x, y) });
            }
        }
    }
    out
}

fn cover_witnesses(
    scene: &Scene<'_>,
    witnesses: &[Place],
    standing: &[Place],
    chosen: &mut Vec<Place>,
) {
    let placed = scene.placed(witnesses);
    let mut scratch = Scratch::default();
    let mut unseen = vec![true; witnesses.len()];
    let mut seen = |place: Place| {
        let range = Scene::counted(scene.range(place));
        if range > 0.0 { scene.seen(place, range, &placed, &mut scratch) } else { Vec::new() }
    };
    for &place in standing {
        seen(place).iter().for_each(|&w| unseen[w as usize] = false);
    }
    // A door shows two rooms and is passed anyway, so doors come first among equals.
    let middles = scene.meshes.iter().enumerate().flat_map(|(floor, mesh)| {
        (0..mesh.triangles.len())
            .filter(move |&t| scene.wanted(floor, t as u32))
            .map(move |t| Place { floor, at: mesh.middle(t) })
    });
    let candidates: Vec<(Place, Vec<u32>)> =
        scene.doors().into_iter().chain(middles).map(|place| (place, seen(place))).collect();
    let count =
        |sees: &[u32], unseen: &[bool]| sees.iter().filter(|&&w| unseen[w as usize]).count();
    let mut waiting: std::collections::BinaryHeap<(usize, std::cmp::Reverse<usize>)> =
        (candidates.iter().enumerate())
            .map(|(i, (_, sees))| (sees.len(), std::cmp::Reverse(i)))
            .collect();
    while let Some((gain, std::cmp::Reverse(i))) = waiting.pop() {
        let (place, sees) = &candidates[i];
        let now = count(sees, &unseen);
        if now == 0 {
            continue;
        }
        // Gains only shrink: one that is still the largest is truly the largest (M. Minoux, 1978).
        if now < gain && waiting.peek().is_some_and(|next| next.0 > now) {
            waiting.push((now, std::cmp::Reverse(i)));
            continue;
        }
        sees.iter().for_each(|&w| unseen[w as usize] = false);
        chosen.push(*place);
    }
}

/// Adds the middles of the larger unseen pieces; false when there were none.
fn cover_pieces(scene: &Scene<'_>, all: &[Place], chosen: &mut Vec<Place>) -> bool {
    let least = scene.floor_area() * SMALL_PIECE;
    let (_, pieces) = left(scene, all);
    let mut sized: Vec<(f64, usize)> =
        pieces.iter().enumerate().map(|(i, (_, piece))| (area(piece), i)).collect();
    sized.retain(|(size, _)| *size > least);
    sized.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut covers = covers(scene);
    let mut scratch = Scratch::default();
    for place in all {
        covers[place.floor].see(place.at, scene.range(*place), &mut scratch);
    }
    let mut any = false;
    for (_, i) in sized.into_iter().take(PIECES_MAX) {
        let (floor, piece) = &pieces[i];
        let sum = piece.iter().fold(Point::default(), |s, p| Point::new(s.x + p.x, s.y + p.y));
        let at = Point::new(sum.x / piece.len() as f64, sum.y / piece.len() as f64);
        let place = Place { floor: *floor, at };
        let before = covers[*floor].unseen_area();
        covers[*floor].see(at, scene.range(place), &mut scratch);
        if before - covers[*floor].unseen_area() > least {
            chosen.push(place);
            any = true;
        }
    }
    any
}

fn area(piece: &[Point]) -> f64 {
    let cross = |i: usize| {
        let (a, b) = (piece[i], piece[(i + 1) % piece.len()]);
        a.x * b.y - b.x * a.y
    };
    (0..piece.len()).map(cross).sum::<f64>().abs() / 2.0
}
