//! Numbers that no walk and no set of viewpoints can beat.

use super::scene::{Place, Scene};
use super::windows::{self, Mark};
use crate::tour::tour_bound;
use crate::walks::Walks;
use geometry::sweep::Scratch;
use geometry::{Cover, Region, Straight, Tree};

/// The corners of the floor that must be seen, or an even choice of them: what lies in a corner is seen from least floor.
pub(super) fn corners(scene: &Scene<'_>) -> Vec<Place> {
    let mut out = Vec::new();
    for (floor, mesh) in scene.meshes.iter().enumerate() {
        let wanted = |v: &u32| mesh.triangles_at(*v).any(|t| scene.wanted(floor, t));
        for v in (0..mesh.points.len() as u32).filter(wanted) {
            // A little inside, so that the view is whole and its outline has no gap.
            let t = mesh.triangle_at(v).map_or(0, |t| t as usize);
            out.push(Place { floor, at: mesh.points[v as usize].toward(mesh.middle(t), 1e-4) });
        }
    }
    let step = out.len().div_ceil(CORNERS_MAX).max(1);
    out.into_iter().step_by(step).collect()
}

/// More corners than this cost more time than they gain.
const CORNERS_MAX: usize = 600;

/// Places no two of which are seen from anywhere together: as many viewpoints are needed at least. Chosen by who is
/// seen together with the fewest others (`together`, by number); that two views share no floor is then decided by the
/// area they leave.
pub(super) fn hidden_from_each_other(
    scene: &Scene<'_>,
    witnesses: &[Place],
    together: &[Vec<u64>],
) -> Vec<Place> {
    let mut scratch = Scratch::default();
    let width = scene.extent() * 1e-9;
    let fresh: Vec<Cover<'_>> =
        scene.meshes.iter().map(|mesh| Cover::new(mesh, width, |_| true)).collect();
    let mut covers = fresh.clone();
    let mut taken = |cover: &mut Cover<'_>, w: Place| {
        let before = cover.unseen_area() + cover.narrow_area;
        // A little farther, so that the polygon that stands for the circle holds all of it.
        cover.see(w.at, scene.farthest_sight() * 1.003, &mut scratch);
        before - cover.unseen_area() - cover.narrow_area
    };
    let mut chosen = Vec::new();
    for i in loosest_first(together).into_iter().take(TRIED_MAX) {
        let w = witnesses[i];
        let alone = taken(&mut fresh[w.floor].clone(), w);
        let mut tried = covers[w.floor].clone();
        if alone - taken(&mut tried, w) <= 1e-9 * scene.floor_area() {
            covers[w.floor] = tried;
            chosen.push(w);
        }
    }
    chosen
}

/// Of so many witnesses it is decided by area whether they join.
const TRIED_MAX: usize = 400;

/// Greedily, witnesses no two of which are known to be seen together, the one with the fewest such others first; then
/// the rest by the same, since what one takes for hidden may turn out to be none.
fn loosest_first(together: &[Vec<u64>]) -> Vec<usize> {
    let words = together.len().div_ceil(64);
    let mut left = vec![0u64; words];
    (0..together.len()).for_each(|w| left[w / 64] |= 1 << (w % 64));
    let mut out = Vec::new();
    loop {
        let degree = |w: usize| -> u32 {
            together[w].iter().zip(&left).map(|(t, l)| (t & l).count_ones()).sum()
        };
        let open = (0..together.len()).filter(|w| left[w / 64] >> (w % 64) & 1 == 1);
        let Some(w) = open.min_by_key(|&w| (degree(w), w)) else { break };
        out.push(w);
        left[w / 64] &= !(1 << (w % 64));
        left.iter_mut().zip(&together[w]).for_each(|(left, together)| *left &= !together);
    }
    let all = |w: &usize| -> u32 { together[*w].iter().map(|bits| bits.count_ones()).sum() };
    let mut rest: Vec<usize> = (0..together.len()).filter(|w| !out.contains(w)).collect();
    rest.sort_by_key(|w| (all(w), *w));
    out.extend(rest);
    out
}

/// A length no closed walk that sees all can be shorter than: it comes to every one of the places' regions, and between
/// two regions it walks at least the way between them, so the cheapest 1-tree over the ways between regions bounds it
/// (M. Held and R. M. Karp, 1970). `known` is the length of a walk that sees all.
///
/// The way between two regions is bounded from below through marks on their windows, the parts of their outlines that
/// are no walls: whoever leaves a region crosses a window, nowhere farther than half a spacing from a mark.
pub(super) fn least_walk(scene: &Scene<'_>, hidden: &[Place], known: f64) -> f64 {
    let region = |place: &Place| Some((*place, windows::region(scene, *place)?));
    let regions: Vec<(Place, Region)> =
        hidden.iter().filter_map(region).take(REGIONS_MAX).collect();
    let n = regions.len();
    if n < 2 || known <= 0.0 {
        return 0.0;
    }
    let mut spacing = scene.extent() / 200.0;
    let mut marked: Vec<Vec<Mark>>;
    loop {
        let longest = |_| spacing;
        let marks =
            |(place, region): &(Place, Region)| windows::marks(scene, *place, region, &longest);
        marked = regions.iter().map(marks).collect();
        if marked.iter().map(Vec::len).sum::<usize>() <= MARKS_MAX || spacing > scene.extent() {
            break;
        }
        spacing *= 1.5;
    }
    let (mut marks, mut owner, mut spare) = (Vec::new(), Vec::new(), vec![0.0f64; n]);
    for (i, own) in marked.into_iter().enumerate() {
        for mark in own {
            marks.push(mark.place);
            owner.push(i);
            spare[i] = spare[i].max(mark.half);
        }
    }
    let Some(apart) = between(scene, &marks, &owner, n) else { return 0.0 };
    let unit = known / 1e8;
    let mut table = vec![0i32; n * n];
    for i in 0..n {
        for j in (0..n).filter(|&j| j != i) {
            let length = (apart[i * n + j] - spare[i] - spare[j]).max(0.0);
            table[i * n + j] = (length / unit).min(5e8) as i32;
        }
    }
    if n == 2 {
        return f64::from(table[1]) * unit * 2.0;
    }
    let farthest = table.iter().copied().max().unwrap_or(0);
    let Ok(walks) = Walks::new(n, table) else { return 0.0 };
    let tree = tour_bound(&walks, (known / unit) as i64, 400);
    (tree as f64).max(2.0 * f64::from(farthest)) * unit
}

/// More regions than this cost more time than they gain.
const REGIONS_MAX: usize = 150;

/// The shortest ways between the marks of each two owners; none when the marks are too many.
fn between(scene: &Scene<'_>, marks: &[Place], owner: &[usize], n: usize) -> Option<Vec<f64>> {
    if marks.len() > MARKS_MAX {
        return None;
    }
    let placed = scene.placed(marks);
    let (mut scratch, mut tree) = (Scratch::default(), Tree::default());
    let straight: Vec<Straight> =
        marks.iter().map(|mark| scene.straight(*mark, &placed[mark.floor], &mut scratch)).collect();
    let mut out = vec![f64::INFINITY; n * n];
    for i in 0..n {
        // All marks of a region together are one source.
        let mut sources: Vec<(u32, f64)> = Vec::new();
        for m in (0..marks.len()).filter(|&m| owner[m] == i) {
            sources.extend(&straight[m].nodes);
            for &(other, length) in &straight[m].points {
                let j = owner[other as usize];
                out[i * n + j] = out[i * n + j].min(length);
            }
        }
        scene.search(&sources, &mut tree);
        for (m, straight) in straight.iter().enumerate() {
            let best = straight.nodes.iter().map(|&(node, length)| tree.length(node) + length);
            let entry = &mut out[i * n + owner[m]];
            *entry = best.fold(*entry, f64::min);
        }
    }
    for i in 0..n {
        for j in 0..i {
            let least = out[i * n + j].min(out[j * n + i]);
            // Marks off the floor by rounding reach nothing: such a pair is not counted on.
            let least = if least.is_finite() { least } else { 0.0 };
            out[i * n + j] = least;
            out[j * n + i] = least;
        }
    }
    Some(out)
}

/// Marks beyond this number would take longer than the search itself.
const MARKS_MAX: usize = 4000;
